"""The estimates as rule files call them: plain mappings of a lot, a room, a freezer and a batch in; an `Estimate` out.

Numbers are SI; None stands for what is not known. For one more version a number that can be no reading, such as -1 or -99, says the same.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from typing import Any

from scheduler.diagnostics import Fault
from scheduler.estimates import comb, dew, flow, freeze, pests, recorded_freeze, thaw
from scheduler.estimates import moisture as water
from scheduler.estimates.comb import Package, Properties
from scheduler.estimates.conduction import Body
from scheduler.quantities import Estimate, Quantity, Statement, percent, say

Named = Mapping[str, Any]
COLDEST = -90.0  # °C: anything colder is not a measurement
TOLD_FOR = 0.1  # m³ of a freezer that rule files tell its new food for
PACKAGES = {"none": "", "film": "film", "clamshell": "a_clamshell", "carton": "a_carton"}  # by what their numbers are called
COMB_CONDUCTIVITY = 0.05  # W/mK, wax cells filled with still air: assumed


def _reading(value: Any, least: float = 0.0) -> float | None:
    """What was read; None where nothing was."""
    return float(value) if value is not None and value >= least else None


def _moisture(value: float | None, trade: Named) -> tuple[float, tuple[Statement, ...]]:
    """The moisture to count with, and what is to be said of it."""
    read, usual = _reading(value), float(trade["usual_moisture"])
    return (read, ()) if read is not None else (usual, (say("moisture not measured", assumed=percent(usual)),))


def looks_of(trade: Named) -> pests.Looks:
    """How often stored comb is looked through, by the numbers of the trade."""
    rows = (("quick_moth_from", "quick_interval"), ("slow_moth_from", "slow_interval"), ("moth_stops_below", "longest_interval"))
    return pests.Looks(tuple((float(trade[low]), float(trade[each])) for low, each in rows), float(trade["interval_where_the_store_is_unknown"]))


def eggs_of(trade: Named) -> pests.Eggs:
    """When eggs of comb pests hatch, by the numbers of the trade."""
    moth = "moth_eggs_from", "moth_eggs_after", "moth_eggs_at_the_latest", "hot_moth_eggs_from", "hot_moth_eggs_after"
    beetle = "beetle_eggs_from", "beetle_eggs_after", "beetle_eggs_at_the_latest", "beetle_eggs_sooner_by", "beetle_eggs_dry_under"
    return pests.Eggs(*(float(trade[name]) for name in (*moth, *beetle)))


def keeps_of(trade: Named) -> water.Keeps:
    """With how much water honey keeps, by the numbers of the trade."""
    few = tuple((float(trade[f"keeps_with_{most}"]), float(most)) for most in (1000, 10, 1))
    return water.Keeps(float(trade["always_keeps_under"]), few)


def drained_of(trade: Named) -> flow.Drained:
    """How long cut comb usually drains, by the numbers of the trade."""
    return flow.Drained(float(trade["drained_within"]), float(trade["drained_at"]), float(trade["drained_moisture"]))


def bubble_of(trade: Named) -> float:
    """The diameter [m] of the smallest bubble that is waited for, by the numbers of the trade."""
    return float(trade["settled_bubble"])


def comb_of(frame: str, trade: Named) -> tuple[float, float]:
    """The sides [m] of the comb in a frame, by the numbers of the trade."""
    return float(trade["comb_length"]), float(trade[f"comb_depth_of_a_{frame}_frame"])


def box_of(frame: str, trade: Named) -> tuple[float, float, float]:
    """The sides [m] of a box of frames, the last its depth, by the numbers of the trade."""
    return float(trade["length_of_a_box"]), float(trade["width_of_a_box"]), float(trade[f"depth_of_a_{frame}_box"])


def package_of(name: str, trade: Named) -> Package:
    """The package of that name, by the numbers of the trade; raises `Fault` for one not known here."""
    if name not in PACKAGES:
        raise Fault(f'"{name}" is not a package known here', f"one of: {', '.join(PACKAGES)}")
    called = PACKAGES[name]
    return Package(float(trade[f"wall_of_{called}"]), float(trade[f"{called}_adds"]), name) if called else comb.BARE


def margin_of(trade: Named) -> float:
    """How much warmer [K] than the dew point comb is when its package is opened, by the numbers of the trade."""
    return float(trade["above_dew_point"])


def freezers_of(trade: Named) -> freeze.FreezerNumbers:
    """What is usual of freezers and what kills in them, by the numbers of the trade."""
    kills = tuple((float(trade[f"kills_{when}from"]), float(trade[f"kills_{when}within"])) for when in ("", "sooner_", "soonest_"))
    new_food = float(trade["new_food_a_day_at_the_least"]) / TOLD_FOR, float(trade["new_food_a_day"]) / TOLD_FOR
    names = ("power_of_a_small_freezer", "share_of_the_plate", "air_round_a_package", "one_layer", "large_load")
    read, logged = float(trade["thermometer_off_by"]), float(trade["logger_off_by"])
    power, derating, gap, layer, large = (float(trade[name]) for name in names)
    return freeze.FreezerNumbers(kills, read, logged, power, new_food, derating, gap, layer, large)


def _noted(estimate: Estimate, *lines: Statement) -> Estimate:
    return Estimate(
        estimate.value, estimate.low, estimate.high, estimate.dimension, (*estimate.basis, *lines), estimate.sources, estimate.safe_end, estimate.refusal
    )


def drain_time(temperature: float, moisture: float | None, *, trade: Named) -> Estimate:
    """Seconds cut comb drains, not yet held between the rule's floor and ceiling."""
    water_share, notes = _moisture(moisture, trade)
    return _noted(flow.drain_time(temperature, water_share, drained_of(trade), 0.0, float("inf")), *notes)


def settle_time(temperature: float, moisture: float | None, depth: float, *, trade: Named) -> Estimate:
    """Seconds bubbles take through `depth` [m]."""
    water_share, notes = _moisture(moisture, trade)
    return _noted(flow.settle_time(temperature, water_share, depth, bubble_of(trade)), *notes)


def _comb_temperature(lot: Named) -> float:
    """As it was read, or as warm as the room: a lot has one of the two."""
    return float(lot["comb_temperature"])


def temper_time(lot: Named, room: Named, target: float) -> Estimate:
    """Seconds until the middle of a lot's combs, standing singly, is at `target` [°C]."""
    return thaw.temper_time(float(lot["thickness"]), _comb_temperature(lot), float(room["temperature"]), target)


def warm_time(lot: Named, room: Named, target: float, *, trade: Named) -> Estimate:
    """Seconds until the middle of a lot's boxes of frames is at `target` [°C]."""
    frame = str(lot["frame"])
    return thaw.warm_box_time(frame, box_of(frame, trade), _comb_temperature(lot), float(room["temperature"]), target)


def _freezer(freezer: Named, trade: Named) -> freeze.Freezer:
    air, told, by = str(freezer.get("air") or "still"), _reading(freezer.get("error")), freezers_of(trade)
    error = told if told is not None else by.logged if "record" in freezer and "proving" not in freezer else None
    rated, surface, space = (_reading(freezer.get(name)) or None for name in ("rated", "surface", "space"))
    return freeze.Freezer(float(freezer["temperature"]), by, air, rated, surface, space, error)


def _unmeasured(freezer: Named) -> Estimate | None:
    if freezer.get("known", True) and _reading(freezer["temperature"], COLDEST) is not None:
        return None
    return Estimate.refused("duration", say("freezer not measured"))


def _hold(load: freeze.Load, freezer: Named, trade: Named) -> Estimate:
    """The hold of a load; by the recorded air (`record`, °C each `STEP` s) and core (`core`, pairs of s and °C) where it is in the freezer already."""
    if "record" not in freezer:
        return freeze.lethal_hold(load, _freezer(freezer, trade))
    core = [(seconds, value) for seconds, value in freezer["core"]]
    return recorded_freeze.proved_hold(load, _freezer(freezer, trade), freezer["record"], core, proving=freezer.get("proving"))


def freeze_hold(batch: Named, lot: Named, freezer: Named, *, trade: Named) -> Estimate:
    """Seconds packed pieces stay in the freezer: cooling of their slowest point and the lethal exposure. Refused where it never kills."""
    refused = _unmeasured(freezer)
    if refused:
        return refused
    return _hold(packed_load(batch, lot, freezer, trade), freezer, trade)


def packed_load(batch: Named, lot: Named, freezer: Named, trade: Named) -> freeze.Load:
    """The packed pieces of a batch as they stand in a freezer."""
    size = (float(lot["length"]), float(lot["width"]), float(lot["thickness"]))
    space = _reading(freezer.get("space")) or None
    count = max(1, round(float(batch.get("count", 1.0))))
    package, by = package_of(str(lot.get("package") or "none"), trade), freezers_of(trade)
    return freeze.packed(count, size, package, _comb_temperature(lot), by, space=space, touching=_stacked(lot, freezer))


def _stacked(lot: Named, freezer: Named) -> bool | None:
    """Whether packages are stacked, as the lot says, or else its freezer; None where neither does."""
    said = lot.get("stowed") or freezer.get("stowed")
    return None if not said else said == "stacked"


def freeze_comb_hold(batch: Named, lot: Named, freezer: Named, *, trade: Named) -> Estimate:
    """Seconds boxes of dry or wet comb, stacked as one body of the batch's volume, stay in the freezer. Refused where it never kills."""
    refused = _unmeasured(freezer)
    if refused:
        return refused
    length, width, depth = box_of(str(lot.get("frame") or "deep"), trade)
    volume = float(batch.get("volume", 0.0)) or length * width * depth
    measured = float(batch.get("mass", 0.0)) / volume
    density = max(measured, float(trade["box_of_wet_comb" if lot.get("kind") == "extracted" else "box_of_dry_comb"]))
    height = min(3.0, max(0.1, volume / (length * width)))

    def body(of: Properties) -> Body:
        if density >= trade["box_of_honey"]:
            return comb.piece((length, width, height), comb.BARE, of)
        return comb.piece((length, width, height), comb.BARE, Properties(COMB_CONDUCTIVITY, density, of.heat_capacity, of.surface))

    stands = (say("boxes as one body", height=Quantity(round(height, 2), "height"), density=Quantity(density, "density")),)
    load = freeze.Load(body, density * length * width * height, _comb_temperature(lot), stands)
    return _hold(load, freezer, trade)


def thaw_hold(lot: Named, freezer: Named, room: Named, pieces: float | None = None, *, trade: Named) -> Estimate:
    """Seconds frozen packages stay closed in the room until their comb is above the dew point with a margin; those frozen as one block thaw as one.

    How many is said by `pieces`, or else by the lot's packages.
    """
    size = (float(lot["length"]), float(lot["width"]), float(lot["thickness"]))
    start = float(freezer["temperature"]) if _unmeasured(freezer) is None else float(trade["usual_freezer_temperature"])
    package, stacked = package_of(str(lot.get("package") or "none"), trade), _stacked(lot, freezer)
    count = max(1, round(float(lot.get("packages", 1.0) if pieces is None else pieces)))
    if stacked is None:
        stacked = not freeze.one_layer(count, size, package, _reading(freezer.get("space")), freezers_of(trade))
    air, margin = (float(room["temperature"]), float(room["humidity"])), margin_of(trade)
    return thaw.thaw_time(size, package, start, *air, margin, stacked=count if stacked else 1)


def inspection_interval(temperature: float | None, *, trade: Named) -> Estimate:
    """Seconds until stored comb is looked at again, at the store's temperature [°C] where that is known."""
    return pests.inspection_interval(_reading(temperature, COLDEST), looks_of(trade), eggs_of(trade))


def fermentation(moisture: float | None, yeast: float | None = None, *, trade: Named) -> str:
    """What becomes of honey with a share of water and yeast cells per gram, in a word."""
    return water.fermentation(_reading(moisture), _reading(yeast), keeps_of(trade))


def drying_time(moisture: float | None, target: float, temperature: float, humidity: float, capped: float) -> Estimate:
    """Seconds until it is worth measuring again; the target itself where the moisture is not known gives 0."""
    read = _reading(moisture)
    return water.drying_time(target if read is None else read, target, temperature, humidity, min(1.0, max(0.0, capped)))


def beetle_time_left(lot: Named, temperature: float, humidity: float, *, trade: Named) -> Estimate:
    """Seconds from the pull until beetle eggs hatch in a lot in which beetle was seen, in air of a temperature [°C] and humidity; refused where none was.

    Comb that was read warmer than that air keeps its eggs as warm, and counts (the safe end, for it cools).
    """
    if not lot.get("beetle"):
        return Estimate.refused("duration", say("no beetle seen"))
    read = _reading(lot.get("comb_temperature"), COLDEST)
    warmest = temperature if read is None else max(temperature, read)
    return pests.beetle_time_left(warmest, humidity, float(lot.get("without_bees", 0.0)), eggs_of(trade))


def egg_hatch_time(temperature: float, *, trade: Named) -> Estimate:
    """Seconds until the first wax moth eggs can hatch at a temperature [°C]."""
    return pests.egg_hatch_time(temperature, eggs_of(trade))


def beetle_hatch_time(temperature: float, *, trade: Named) -> Estimate:
    """Seconds until the first small hive beetle eggs hatch at a temperature [°C]."""
    return pests.beetle_hatch_time(temperature, eggs_of(trade))


cool_time = thaw.vessel_time
bucket_time = thaw.bucket_time
dew_point = dew.dew_point

CALLABLES: dict[str, Callable[..., Estimate | float | str]] = {
    "drain_time": drain_time,
    "settle_time": settle_time,
    "temper_time": temper_time,
    "warm_time": warm_time,
    "freeze_hold": freeze_hold,
    "freeze_comb_hold": freeze_comb_hold,
    "thaw_hold": thaw_hold,
    "cool_time": cool_time,
    "bucket_time": bucket_time,
    "drying_time": drying_time,
    "fermentation": fermentation,
    "egg_hatch_time": egg_hatch_time,
    "beetle_hatch_time": beetle_hatch_time,
    "beetle_time_left": beetle_time_left,
    "inspection_interval": inspection_interval,
    "dew_point": dew_point,
}
BY_TRADE = frozenset(name for name, function in CALLABLES.items() if "trade" in inspect.signature(function).parameters)
"""Those that are given the numbers of the trade besides what a card gives them."""
