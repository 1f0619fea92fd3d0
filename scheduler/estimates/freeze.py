"""How long comb stays in the freezer: cooling of its slowest point, then the published lethal exposure."""

import math
from collections.abc import Callable
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.estimates import citations, comb
from scheduler.estimates.comb import Package, Properties
from scheduler.estimates.conduction import CLOSEST, Body, time_to
from scheduler.quantities import Estimate, Quantity, Statement, celsius, elapsed, kilograms, say, show, warmer

TEST_LOAD_HEAT = 300e3  # J/kg from 25 °C to -18 °C, water-based test load: from memory, rounded down to be safe
TOGETHER = 2.5  # power in which cooling by conduction and by what the freezer extracts add up: fitted to finite volumes, never sooner than they are
SPREAD = say("spread of conductivity", slow=Quantity(comb.CONDUCTIVITY, "conductivity"), quick=Quantity(comb.QUICK_CONDUCTIVITY, "conductivity"))
SOURCES = (citations.COLD_KILL, citations.COLD_KILL_WARMER, citations.CONDUCTION, citations.FOOD_CONDUCTIVITY, citations.GLASS)


class FreezerNumbers(NamedTuple):
    """What is usual of freezers, and what kills in them: numbers of the trade, from the rule files."""

    kills: tuple[tuple[float, float], ...]  # °C at the core and seconds there, for all stages of wax moth; the mildest first
    read: float  # K the air may be warmer or colder than a thermometer that is read now and then says
    logged: float  # K the same where a logger measured it
    power: float  # W that a freezer extracts of which neither plate nor space is known
    new_food: tuple[float, float]  # kg/s for each m³ of a freezer without a plate: the slow end and the value
    derating: float  # share of the rated power, for the slow end
    gap: float  # m of air round a package that stands spaced, as far as one layer is counted
    layer: float  # m² of one layer where the freezer's space is not known; else of a cube of its space
    large: float  # s of full power after which a load is called large

    @property
    def mildest(self) -> float:
        """The warmest core [°C] that kills at all."""
        return self.kills[0][0]


class Freezer(NamedTuple):
    """Air temperature [°C], the numbers it is reckoned by, air "still" or "fan", rated freezing capacity [kg/s of test load, None when unknown], surface
    coefficient [W/m²K or None], space [m³ or None], and by how much its temperature may be off either way [K; None: as one that is read now and then]."""

    temperature: float
    by: FreezerNumbers
    air: str = "still"
    rated: float | None = None
    surface: float | None = None
    space: float | None = None
    off_by: float | None = None

    @property
    def error(self) -> float:
        """By how much its temperature may be off [K]."""
        return self.by.read if self.off_by is None else self.off_by


class Load(NamedTuple):
    """What goes in: a body for given properties, its mass [kg], the temperature it starts at [°C], and what is to be told of how it stands."""

    body: Callable[[Properties], Body]
    mass: float
    start: float
    stands: tuple[Statement, ...]


def one_layer(count: int, size: tuple[float, float, float], package: Package, space: float | None, by: FreezerNumbers) -> bool:
    """Whether `count` packages lie in one layer with air round each, in a freezer of `space` [m³] taken as a cube."""
    added = package.allowance + by.gap
    return count * (size[0] + added) * (size[1] + added) <= (space ** (2 / 3) if space else by.layer)


def packed(
    count: int,
    size: tuple[float, float, float],
    package: Package,
    start: float,
    by: FreezerNumbers,
    *,
    space: float | None = None,
    touching: bool | None = None,
) -> Load:
    """`count` pieces of `size` [m] in a package, from `start` [°C].

    They count as one body where they touch: where `touching` says so, or, when it is None, where they do not fit one layer.
    """
    comb.check_size(size)
    if count < 1 or count > 10_000:
        raise Fault(f"{count} pieces is outside 1 to 10000", "--pieces 8")
    if touching is None:
        touching = not one_layer(count, size, package, space, by)
    mass = count * math.prod(size) * comb.DENSITY
    if touching and count > 1:
        return Load(lambda of: comb.stack(count, size, package, of), mass, start, (say("pieces touching", count=count, package=package.name), SPREAD))
    stands = say("pieces apart", count=count, package=package.name) if count > 1 else say("one piece", count=count, package=package.name)
    return Load(lambda of: comb.piece(size, package, of), mass, start, (stands, SPREAD))


def power(freezer: Freezer, *, slow: bool = False) -> float | None:
    """Cooling power [W] behind the rated capacity: the label's kg a day are of a water-based test load, each giving up `TEST_LOAD_HEAT`.

    Without a plate what may be put in a day is what is published for the space there is; None where neither is known.
    """
    if freezer.rated is not None:
        return freezer.rated * TEST_LOAD_HEAT * (freezer.by.derating if slow else 1.0)
    return freezer.space * freezer.by.new_food[0 if slow else 1] * TEST_LOAD_HEAT if freezer.space else None


def _extraction(load: Load, freezer: Freezer, of: Properties, air: float, end: int) -> float:
    """Seconds of full power to take the load's heat down to the air's temperature; 0 where no limit is known."""
    heat = load.mass * of.heat_capacity * max(load.start - air, 0.0)
    watts = power(freezer, slow=end > 0) if end >= 0 or freezer.rated else None
    return heat / (watts or (freezer.by.power if end > 0 else math.inf))


def _cooling(load: Load, freezer: Freezer, target: float, of: Properties, end: int = 0) -> float:
    """Seconds to `target` [°C] at the slow end (1), the value (0) or the quick end (-1), which differ by the freezer's own error too."""
    if load.start <= target:
        return 0.0
    air = freezer.temperature + end * freezer.error
    if air > target - CLOSEST:
        return math.inf
    conducted, extracted = time_to(load.body(of), (target - air) / (load.start - air)), _extraction(load, freezer, of, air, end)
    return float((conducted**TOGETHER + extracted**TOGETHER) ** (1 / TOGETHER))


def _told(temperature: float) -> str:
    return show(temperature, "temperature")


def _check(load: Load, freezer: Freezer) -> list[Statement]:
    if not -60 <= freezer.temperature <= 40 or not -60 <= load.start <= 60:
        raise Fault(
            f"comb from {_told(load.start)} into air at {_told(freezer.temperature)} is outside what this estimate covers",
            "temperatures between -60 °C and 40 °C",
        )
    low, high = comb.VALID
    if freezer.temperature < low or load.start > high:
        return [say("beyond what is known of comb", low=celsius(low), high=celsius(high))]
    return []


def cooling_time(load: Load, freezer: Freezer, target: float) -> Estimate:
    """Seconds until the slowest point of a load has cooled to `target` [°C]; refused in words where the air may not be 0.5 K colder."""
    notes = _check(load, freezer)
    if freezer.temperature + freezer.error > target - CLOSEST and load.start > target:
        return Estimate.refused(
            "duration",
            say("never so cold", air=celsius(freezer.temperature), goal=celsius(target), closest=warmer(CLOSEST), error=warmer(freezer.error)),
            sources=SOURCES[2:],
        )
    slow, typical, quick = comb.spread(freezer.air, freezer.surface)
    value, low, high = (_cooling(load, freezer, target, of, end) for of, end in ((typical, 0), (quick, -1), (slow, 1)))
    basis = [
        say("core cooled", start=celsius(load.start), goal=celsius(target), air=celsius(freezer.temperature)),
        *load.stands,
        *_how(load, freezer),
        *notes,
    ]
    return Estimate(value, min(low, value), max(high, value), "duration", tuple(basis), SOURCES[2:])


def _how(load: Load, freezer: Freezer) -> list[Statement]:
    spread = comb.spread(freezer.air, freezer.surface)
    slow, surface, quick = (Quantity(of.surface, "surface coefficient") for of in spread)
    lines = [say("surface in its range", surface=surface, slow=slow, quick=quick) if freezer.surface is None else say("surface as told", surface=surface)]
    if freezer.rated:
        rated, heat = Quantity(freezer.rated, "mass rate"), Quantity(TEST_LOAD_HEAT, "specific heat")
        lines.append(say("rated capacity", rated=rated, heat=heat, power=Quantity(power(freezer) or 0.0, "power")))
    elif freezer.space:
        a_day, watts = Quantity(freezer.space * freezer.by.new_food[0], "mass rate"), Quantity(power(freezer, slow=True) or 0.0, "power")
        lines.append(say("no plate", a_day=a_day, power=watts))
    lines.append(say("thermometer off", error=warmer(freezer.error)))
    seconds = _extraction(load, freezer, spread[0], freezer.temperature, 1)
    if seconds > freezer.by.large:
        lines.append(say("large warm load", extraction=elapsed(seconds)))
    return lines


def lethal_hold(load: Load, freezer: Freezer) -> Estimate:
    """Seconds in the freezer until every stage of wax moth in the slowest point is dead: the least, over the published pairs, of cooling plus exposure.

    No interpolation between the pairs and no credit above the mildest. Range from the published spread of properties; the plan uses the slow end.
    Refused in words where the air, as warm as it may be, is not at least 0.5 K below a lethal temperature.
    """
    notes = _check(load, freezer)
    mildest, exposure = freezer.by.kills[0]
    if freezer.temperature + freezer.error > mildest - CLOSEST:
        air, needed = celsius(freezer.temperature), celsius(mildest - CLOSEST - freezer.error)
        pair = {"air": air, "mildest": celsius(mildest), "exposure": elapsed(exposure), "needed": needed, "error": warmer(freezer.error)}
        never = freezer.temperature > mildest - CLOSEST
        refusal = say("never lethal", **pair) if never else say("lethal by its reading alone", **pair)
        return Estimate.refused("duration", refusal, sources=SOURCES[:2])
    slow, typical, quick = comb.spread(freezer.air, freezer.surface)

    def least(of: Properties, end: int) -> tuple[float, float, float]:
        return min((_cooling(load, freezer, target, of, end) + exposure, target, exposure) for target, exposure in freezer.by.kills)

    value, target, exposure = least(typical, 0)
    low, high = least(quick, -1)[0], least(slow, 1)[0]
    basis = [
        say("core cooled within", start=celsius(load.start), goal=celsius(target), air=celsius(freezer.temperature), cooling=elapsed(value - exposure)),
        say("lethal exposure", exposure=elapsed(exposure)),
        *load.stands,
        *_how(load, freezer),
        *notes,
    ]
    return Estimate(value, min(low, value), max(high, value), "duration", tuple(basis), (*SOURCES, *_power_source(freezer)))


def _power_source(freezer: Freezer) -> tuple[str, ...]:
    return (citations.RATED_LOAD,) if freezer.rated else (citations.NEW_FOOD,) if freezer.space else ()


def warmed_to(warm_mass: float, warm: float, held_mass: float, freezer: Freezer) -> float | None:
    """What a load that is holding [kg] could warm to [°C] beside a warm one [kg, °C]; None where that stays cold enough to kill.

    Bound: both come to their common temperature before the freezer takes any heat.
    """
    if held_mass <= 0 or warm_mass <= 0:
        return None
    together = (warm_mass * warm + held_mass * freezer.temperature) / (warm_mass + held_mass)
    return together if together > freezer.by.mildest else None


def warm_beside_cold(warm_mass: float, warm: float, held_mass: float, freezer: Freezer) -> Statement | None:
    """What to tell where a warm load [kg, °C] set beside one that is already holding [kg] could lift it above the mildest lethal temperature."""
    together = warmed_to(warm_mass, warm, held_mass, freezer)
    if together is None:
        return None
    return say("warm load beside", mass=kilograms(warm_mass), warm=celsius(warm), held=kilograms(held_mass), warmed=celsius(together))
