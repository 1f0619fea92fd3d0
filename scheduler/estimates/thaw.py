"""Warming: thawing closed packages past the dew point, bringing comb to cutting temperature, a bucket of honey to flow; and a vessel that cools."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

from scheduler.diagnostics import Fault
from scheduler.estimates import citations, comb
from scheduler.estimates.comb import Package, Properties
from scheduler.estimates.conduction import CLOSEST, Axis, Body, last_surface_time, time_to
from scheduler.estimates.dew import dew_point
from scheduler.quantities import Estimate, Quantity, Statement, celsius, kilograms, percent, say, show, warmer

SOURCES = (citations.CONDUCTION, citations.FOOD_CONDUCTIVITY)
LIQUID_HEAT = (2260.0, 2510.0)  # J/kgK, published range
VESSEL_SURFACE = (8, 10, 6)  # W/m²K, typical, quick, slow; assumed
VESSEL_DENSITY = 1400.0  # kg/m³ of warm honey
GRANULATED_HEAT = 3050.0  # J/kgK of granulated honey, the upper of the published range


def _range(times: Callable[[Properties], float], air: str = "still", surface: float | None = None) -> tuple[float, float, float]:
    slow, typical, quick = (times(of) for of in comb.spread(air, surface))
    return typical, min(quick, typical), max(slow, typical)


def _told(temperature: float) -> str:
    return show(temperature, "temperature")


def _check(*temperatures: float) -> list[Statement]:
    low, high = comb.VALID
    if not all(-60 <= value <= 60 for value in temperatures):
        raise Fault("a temperature is outside -60 to 60 °C", '"21 °C"')
    return [] if all(low <= value <= high for value in temperatures) else [say("beyond what is known of comb", low=celsius(low), high=celsius(high))]


def thaw_time(
    size: tuple[float, float, float],
    package: Package,
    start: float,
    room: float,
    humidity: float,
    margin: float,
    *,
    stacked: int = 1,
    surface: float | None = None,
) -> Estimate:
    """Seconds a closed package stands in the room until the whole surface of its comb [size in m] is `margin` [K] above the room's dew point.

    Of so many `stacked`, which thaw as one block, the comb in the middle is waited for.

    From `start` [°C] in air at `room` [°C] and `humidity` (share). Refused where the air is so damp that the margin is never reached.
    Water that condenses on the package brings heat, so the true time is shorter.
    """
    comb.check_size(size)
    notes = _check(start, room)
    goal = dew_point(room, humidity) + margin
    if start >= goal:
        return Estimate(0.0, 0.0, 0.0, "duration", (say("above it already", goal=celsius(goal)),), (citations.DEW,))
    if goal > room - CLOSEST:
        return Estimate.refused(
            "duration",
            say("air too damp to thaw", room=celsius(room), humidity=percent(humidity), margin=warmer(margin)),
            sources=(citations.DEW,),
        )
    share = (room - goal) / (room - start)

    def times(of: Properties) -> float:
        return time_to(comb.stack(stacked, size, package, of), share) if stacked > 1 else last_surface_time(comb.piece(size, package, of), share)

    value, low, high = _range(times, surface=surface)
    basis = (
        say("surface warmed", start=celsius(start), goal=celsius(goal), margin=warmer(margin), room=celsius(room)),
        say("package kept closed", package=package.name),
        *((say("thawed as a block", count=stacked),) if stacked > 1 else ()),
        *notes,
    )
    return Estimate(value, low, high, "duration", basis, (*SOURCES, citations.DEW))


def _warming(body: Callable[[Properties], Body], start: float, room: float, target: float, stands: Statement) -> Estimate:
    notes = _check(start, room, target)
    if start >= target:
        return Estimate(0.0, 0.0, 0.0, "duration", (say("at it already", start=celsius(start)),), SOURCES)
    if room < target + CLOSEST:
        return Estimate.refused(
            "duration",
            say("room too cold", room=celsius(room), goal=celsius(target), needed=celsius(target + CLOSEST)),
            sources=SOURCES[:1],
        )
    share = (room - target) / (room - start)
    value, low, high = _range(lambda of: time_to(body(of), share))
    return Estimate(
        value,
        low,
        high,
        "duration",
        (say("middle warmed", start=celsius(start), goal=celsius(target), room=celsius(room)), stands, *notes),
        SOURCES,
    )


def temper_time(thickness: float, start: float, room: float, target: float) -> Estimate:
    """Seconds until the middle of a comb of `thickness` [m], standing free in its frame, has warmed to `target` [°C]."""
    comb.check_size((thickness, thickness, thickness))
    return _warming(lambda of: comb.slab(thickness, of), start, room, target, say("single combs"))


def warm_box_time(frame: str, size: tuple[float, float, float], start: float, room: float, target: float) -> Estimate:
    """Seconds until the middle of a full box [size in m] of "shallow", "medium" or "deep" frames has warmed to `target` [°C].

    The box is taken as one solid body with air on all faces: a little slow, since air stands between the combs (32 h against 36 h to -15 °C).
    """
    comb.check_size(size)
    return _warming(lambda of: comb.piece(size, comb.BARE, of), start, room, target, say("full box", frame=frame))


def vessel_time(mass: float, start: float, end: float, room: float) -> Estimate:
    """Seconds until a vessel with `mass` [kg] of warm honey, stirred now and then, has cooled from `start` to `end` [°C] in a room.

    Honey at one temperature (it is stirred), a vessel as wide as high, heat through wall and surface; slow end: lid on, standing on wood,
    6 W/m²K. Unstirred, the middle stays hot far longer: stir and measure before pouring. Valid 20 to 90 °C, 0.1 to 1000 kg.
    """
    if not 0.1 <= mass <= 1000:
        raise Fault(f"a vessel of {mass:g} kg is outside 0.1 to 1000 kg", '"12 kg"')
    if not (-20 <= room <= 45 and 0 <= start <= 95):
        raise Fault(f"honey at {_told(start)} in a room at {_told(room)} is outside what this estimate covers", '"65 °C"')
    if start <= end:
        return Estimate(0.0, 0.0, 0.0, "duration", (say("at it already", start=celsius(start)),), ())
    if room > end - CLOSEST:
        return Estimate.refused(
            "duration",
            say("room too warm", room=celsius(room), goal=celsius(end), needed=celsius(end - CLOSEST)),
        )
    cooling = math.log((start - room) / (end - room))
    disc = math.pi / 4 * (4 * mass / VESSEL_DENSITY / math.pi) ** (2 / 3)  # m², end face of a cylinder as wide as high
    times = [mass * heat / (surface * faces * disc) * cooling for heat, surface, faces in zip((2400, *LIQUID_HEAT), VESSEL_SURFACE, (6, 6, 4), strict=True)]
    basis = (
        say("vessel cooled", mass=kilograms(mass), start=celsius(start), goal=celsius(end), room=celsius(room)),
        say("surface of a vessel", typical=Quantity(VESSEL_SURFACE[0], "surface coefficient"), slow=Quantity(VESSEL_SURFACE[2], "surface coefficient")),
    )
    return Estimate(times[0], times[1], times[2], "duration", basis, (citations.OLD_CONDUCTIVITY, citations.DESIGN))


def bucket_time(volume: float, start: float, around: float, target: float) -> Estimate:
    """Seconds until the middle of a bucket of honey [m³], as wide as high and not stirred, has warmed from `start` to `target` in air [°C].

    Thick or granulated honey hardly flows, so heat reaches its middle by conduction alone; once it flows it is quicker, and stirred quicker still. The
    round bucket is taken as a square post of its width, 0 to 17 % slow (Biot number 0 to infinity). Slow end: granulated, heat through the wall alone,
    6 W/m²K; quick end: all faces, the upper published conductivity. What melting takes is not counted: no published value was found. Valid -25 to
    60 °C, 1 to 100 L.
    """
    if not 0.001 <= volume <= 0.1:
        raise Fault(f"a bucket of {volume * 1000:g} L is outside 1 to 100 L", '"20 L"')
    if not all(comb.VALID[0] <= value <= 60 for value in (start, around, target)):
        raise Fault("a temperature is outside -25 to 60 °C", '"35 °C"')
    if start >= target:
        return Estimate(0.0, 0.0, 0.0, "duration", (say("at it already", start=celsius(start)),), ())
    if around < target + CLOSEST:
        return Estimate.refused("duration", say("too cold for a bucket", room=celsius(around), goal=celsius(target), needed=celsius(target + CLOSEST)))
    width = (4 * volume / math.pi) ** (1 / 3)
    slow, typical, quick = comb.spread()
    share = (around - target) / (around - start)

    def time(of: Properties, heat: float, ends: Literal[0, 1, 2]) -> float:
        side = Axis(width, of.surface, of.conductivity)
        return time_to(Body((side, side, Axis(width, of.surface, of.conductivity, ends)), VESSEL_DENSITY * heat), share)

    basis = (
        say("bucket warmed", volume=Quantity(volume, "volume"), start=celsius(start), goal=celsius(target), room=celsius(around)),
        say("bucket by conduction"),
    )
    times = time(typical, LIQUID_HEAT[1], 1), time(quick, LIQUID_HEAT[0], 2), time(slow, GRANULATED_HEAT, 0)
    return Estimate(*times, "duration", basis, (*SOURCES, citations.OLD_CONDUCTIVITY, citations.DESIGN))
