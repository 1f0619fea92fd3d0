"""The yard, a harvest and a lot as the names that rule files use (`scheduler.rules.vocabulary`); all numbers SI."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.estimates import packing
from scheduler.facts.equipment import FREEZER, SETTLING_TANK, Equipment
from scheduler.facts.harvest import Lot
from scheduler.facts.season import MARKS_AND_EDGES, SPANS, Season
from scheduler.facts.yard import Yard
from scheduler.local_time import DAY, midnight
from scheduler.planning.draft import Pull, Subject
from scheduler.planning.holds import Resource

UNKNOWN = -1.0  # a reading that was not taken; conditions ask `lot.moisture_known` first
UNKNOWN_TEMPERATURE = -99.0
FRAMES_IN_A_BOX = 10  # common practice for a full-width box; `boxes` in the harvest file overrules it
DEPTH_OF_VESSEL = 0.35  # honey in a settling tank of about 50 L [m]; assumed, `depth` under equipment overrules it


def names(yard: Yard, season: Season, pulls: Sequence[Pull], subject: Subject) -> dict[str, Any]:
    """Everything an expression may ask of a subject. A harvest or a yard card sees the sums of its lots."""
    lots = [lot for pull in pulls for lot in pull.harvest.lots]
    found = {
        "yard": _yard(yard),
        "room": {"temperature": yard.room.temperature, "humidity": yard.room.humidity},
        "store": _store(yard),
        "freezer": freezer(next(iter(yard.freezers.values()), None)),
        "season": _season(season),
        "harvest": _harvest(yard, pulls, lots),
    }
    if subject.lot:
        found["lot"] = _lot(yard, next(lot for lot in lots if lot.id == subject.lot))
    return found


def equipment(yard: Yard) -> dict[str, tuple[Resource, ...]]:
    """The yard's equipment by kind."""
    kinds: dict[str, list[Resource]] = {}
    for name, kind in yard.kinds.items():
        one = yard.equipment[name]
        if one.capacity is not None:
            kinds.setdefault(kind, []).append(Resource(name, kind, one.capacity, one.measure or "", freezer(one) if kind == FREEZER else {}))
    return {kind: tuple(found) for kind, found in kinds.items()}


def reservations(yard: Yard, zone: ZoneInfo) -> tuple[tuple[str, int, int, float], ...]:
    """What the keeper has set aside: equipment, from, to (the end of the last day), amount."""
    return tuple((one.equipment, midnight(one.from_, zone), midnight(one.to + timedelta(1), zone), one.amount) for one in yard.reserved)


def daily_loads(yard: Yard) -> dict[str, float]:
    """The warm mass [kg] each freezer takes in a day, as its plate says."""
    return {name: one.freezing_capacity * DAY for name, one in yard.freezers.items() if one.freezing_capacity is not None}


def freezer(one: Equipment | None) -> dict[str, Any]:
    """A freezer's facts; `known` is false where the yard has none or does not say how cold it is."""
    if one is None or one.temperature is None:
        return {"known": False, "temperature": 0.0, "space": (one.space or 0.0) if one else 0.0, "air": "still", "rated": UNKNOWN, "surface": UNKNOWN}
    return {
        "known": True,
        "temperature": one.temperature,
        "space": one.space or 0.0,
        "air": one.air or "still",
        "rated": one.freezing_capacity or UNKNOWN,
        "surface": one.surface_coefficient or UNKNOWN,
    }


@lru_cache(maxsize=64)
def _yard_facts(units: str, limit: float, lawful: bool, distance: float, fumigant: bool, strips: bool, lead: float, sells: bool) -> dict[str, Any]:
    return {
        "units": units,
        "moisture_limit": limit,
        "open_cleaning_lawful": lawful,
        "open_cleaning_distance": distance,
        "fumigant": fumigant,
        "starter_strips": strips,
        "container_lead": lead,
        "sells": sells,
    }


def _yard(yard: Yard) -> dict[str, Any]:
    opened = yard.open_cleaning
    return _yard_facts(yard.units, yard.limits.moisture, opened.lawful, opened.distance, yard.fumigant, yard.starter_strips, yard.container_lead, yard.sells)


def _store(yard: Yard) -> dict[str, Any]:
    if yard.store is None or yard.store.temperature is None:
        return {"known": False, "temperature": UNKNOWN_TEMPERATURE, "humidity": UNKNOWN}
    return {"known": True, "temperature": yard.store.temperature, "humidity": yard.store.humidity if yard.store.humidity is not None else UNKNOWN}


def _season(season: Season) -> dict[str, bool]:
    return {name.replace(" ", "_"): season.knows(name) for name in (*MARKS_AND_EDGES, *SPANS)}


def _harvest(yard: Yard, pulls: Sequence[Pull], lots: Sequence[Lot]) -> dict[str, Any]:
    kinds = {lot.kind for lot in lots}
    hives = {hive for pull in pulls for hive in pull.harvest.hives}
    return {
        "id": pulls[0].harvest.harvest if len(pulls) == 1 else "",
        "hives": float(len(hives)),
        "frames": float(sum(lot.frames for lot in lots)),
        "boxes": float(sum(boxes(lot) for lot in lots)),
        "lots": float(len(lots)),
        "has_cut_comb": "cut comb" in kinds,
        "has_extracted": "extracted" in kinds,
        "has_chunk": "chunk honey" in kinds or any(lot.kind == "cut comb" and lot.imperfect > 0 for lot in lots),
        "has_dry_comb": "dry comb" in kinds,
        "sold": yard.sells,
    }


def boxes(lot: Lot) -> int:
    """Boxes a lot's frames fill."""
    return lot.boxes or math.ceil(lot.frames / FRAMES_IN_A_BOX)


def _lot(yard: Yard, lot: Lot) -> dict[str, Any]:
    length, width = lot.piece
    pieces = _pieces(lot)
    chunk = pieces if lot.kind == "chunk honey" else round(pieces * lot.imperfect)
    mass_of_piece = packing.piece_mass(length, width, lot.comb_thickness)
    mass = pieces * mass_of_piece if pieces else lot.frames * packing.frame_honey_mass(lot.frame).value
    tank = next(iter(yard.of_kind(SETTLING_TANK).values()), None)
    return {
        "id": lot.id,
        "kind": lot.kind,
        "frame": lot.frame,
        "frames": float(lot.frames),
        "boxes": float(boxes(lot)),
        "moisture": lot.moisture if lot.moisture is not None else UNKNOWN,
        "moisture_known": lot.moisture is not None,
        "capped": lot.capped,
        "pieces": float(pieces),
        "packages": float(pieces - chunk),
        "chunk_pieces": float(chunk),
        "jars": float(packing.jars_needed(mass, lot.jar)) if lot.kind == "extracted" else 0.0,
        "chunk_jars": float(packing.chunk_jars(chunk * mass_of_piece, lot.jar)[0]) if chunk else 0.0,
        "piece_mass": mass_of_piece,
        "piece_volume": length * width * lot.comb_thickness,
        "package_volume": packing.package_volume(length, width, lot.comb_thickness, lot.package),
        "length": length,
        "width": width,
        "thickness": lot.comb_thickness,
        "package": lot.package,
        "mass": mass,
        "honey_mass": mass,
        "comb_temperature": lot.comb_temperature if lot.comb_temperature is not None else yard.room.temperature,
        "yeast": lot.yeast if lot.yeast is not None else UNKNOWN,
        "disease": lot.disease,
        "treated": lot.treated,
        "beetle": lot.beetle,
        "vessel_depth": tank.depth if tank and tank.depth else DEPTH_OF_VESSEL,
    }


def _pieces(lot: Lot) -> int:
    if lot.kind not in ("cut comb", "chunk honey"):
        return 0
    if lot.pieces is not None:
        return lot.pieces
    return lot.frames * round(packing.pieces_per_frame(lot.frame, *lot.piece).value)
