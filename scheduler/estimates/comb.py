"""Honey comb as a body that cools and warms: properties with their published spread, packages, and the ways it stands.

Valid for sealed comb, -25 to 40 °C, moisture 14 to 21 %. No latent heat: honey holds practically no water that freezes.
Published conductivity differs by a factor of 1.7 to 1.9; the low value gives the longer, safe time.
"""

from functools import lru_cache
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates.conduction import Axis, Body


class Properties(NamedTuple):
    """Conductivity [W/mK], density [kg/m³], heat capacity [J/kgK], and surface coefficient of the air [W/m²K]."""

    conductivity: float
    density: float
    heat_capacity: float
    surface: float


class Package(NamedTuple):
    """Thermal resistance of a wall [m²K/W], what it adds to each dimension of the piece [m], and what it is called."""

    resistance: float
    allowance: float
    name: str


DENSITY, HEAT_CAPACITY, CONDUCTIVITY = 1390.0, 2500.0, 0.28  # design values: see the citation of each estimate
QUICK_CONDUCTIVITY, QUICK_HEAT_CAPACITY = 0.52, 2300.0
SURFACE = {"still": (6.0, 8.0, 10.0), "fan": (8.0, 10.0, 15.0)}  # slow, typical, quick; W/m²K
BARE = Package(0.0, 0.0, "none")
VALID = (-25.0, 40.0)


def spread(air: str = "still", surface: float | None = None) -> tuple[Properties, Properties, Properties]:
    """Slow, typical and quick properties of comb in air that is "still" or moved by a "fan"; a surface coefficient [W/m²K] given overrules all three."""
    if air not in SURFACE:
        raise Fault(f'"{air}" is not a kind of air known here', "still or fan")
    if surface is not None and not 0.5 <= surface <= 500:
        raise Fault(f"a surface coefficient of {surface:g} W/m²K is outside 0.5 to 500", '"8 W/m2K"')
    slow, typical, quick = (surface, surface, surface) if surface is not None else SURFACE[air]
    return (
        Properties(CONDUCTIVITY, DENSITY, HEAT_CAPACITY, slow),
        Properties(CONDUCTIVITY, DENSITY, HEAT_CAPACITY, typical),
        Properties(QUICK_CONDUCTIVITY, DENSITY, QUICK_HEAT_CAPACITY, quick),
    )


def check_size(size: tuple[float, float, float]) -> None:
    """Raise `Fault` for a body that is not a comb, a box or a stack of boxes: each side 2 mm to 3 m."""
    if not all(0.002 <= side <= 3.0 for side in size):
        raise Fault(f"a side of {min(size) * 1000:g} to {max(size) * 1000:g} mm is outside 2 mm to 3 m", '"102 x 51 x 32 mm"')


def piece(size: tuple[float, float, float], wrapping: Package, of: Properties) -> Body:
    """One piece with air on all six faces, in its package."""
    conductance = 1 / (1 / of.surface + wrapping.resistance)
    return Body(tuple(Axis(side, conductance, of.conductivity) for side in size), of.density * of.heat_capacity)


def slab(thickness: float, of: Properties) -> Body:
    """A comb in its frame: both faces in the air, the edges insulated by the wood."""
    return Body((Axis(thickness, of.surface, of.conductivity),), of.density * of.heat_capacity)


@lru_cache(maxsize=512)
def arrangement(count: int, size: tuple[float, float, float]) -> tuple[int, int, int]:
    """How many pieces lie along each side when `count` of them are stacked as near to a cube as they go, which is the slowest way to cool."""
    best, shape = float("inf"), (count, 1, 1)
    for along in range(1, count + 1):
        for across in range(1, -(-count // along) + 1):
            high = -(-count // (along * across))
            length = (along * size[0]) ** 2 + (across * size[1]) ** 2 + (high * size[2]) ** 2
            if length < best:
                best, shape = length, (along, across, high)
    return shape


def stack(count: int, size: tuple[float, float, float], wrapping: Package, of: Properties) -> Body:
    """`count` packed pieces touching each other as one body; the walls between them lower its conductivity along each axis."""
    pitch = tuple(side + wrapping.allowance for side in size)
    counts = arrangement(count, (pitch[0], pitch[1], pitch[2]))
    conductance = 1 / (1 / of.surface + wrapping.resistance)
    axes = tuple(
        Axis(step * number, conductance, step / (side / of.conductivity + 2 * wrapping.resistance))
        for step, number, side in zip(pitch, counts, size, strict=True)
    )
    filled = size[0] * size[1] * size[2] / (pitch[0] * pitch[1] * pitch[2])
    return Body(axes, of.density * of.heat_capacity * filled)
