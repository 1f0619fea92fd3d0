"""The yard, a harvest and a lot as the names that rule files use (`scheduler.rules.vocabulary`); all numbers SI."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from datetime import timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from scheduler.estimates import packing
from scheduler.estimates.callable_estimates import comb_of, package_of
from scheduler.facts.equipment import FREEZER, SETTLING_TANK, Equipment
from scheduler.facts.harvest import BLENDED, COMB, HONEY_DENSITY, Lot, lot_path
from scheduler.facts.season import MARKS_AND_EDGES, SPANS, Season
from scheduler.facts.yard import Yard
from scheduler.local_time import DAY, midnight
from scheduler.planning.blends import frame_honey
from scheduler.planning.draft import Pull, Subject
from scheduler.planning.holds import Resource
from scheduler.rules.vocabulary import filled


class OfHives(NamedTuple):
    """What is known of the hives of a harvest: whether it is their last pull this season, whether one is under treatment now, or was at the pull,
    whether a flow is on or to come for them, whether the pull itself is still to come, and whether the honey room and the
    freezer are made ready for another that comes first within a day."""

    last: bool = True
    under_treatment: bool = False
    treated: bool = False
    more: bool = False
    ahead: bool = False
    room_readied: bool = False
    freezer_readied: bool = False


class OfLots(NamedTuple):
    """What the ledger knows of lots, by path ("ridge-2/a"): those that foulbrood reaches, those of
    hives whose colony died (with the hives' names), those that the keeper lets go on, live larvae in comb, and
    whose moisture is only reckoned from the lots that met in them, and those whose honey went into another; by harvest, the
    hives in whose supers brood or the queen was seen."""

    foulbrood: Container[str] = ()
    died: Mapping[str, str] = {}
    released: Container[str] = ()
    larvae: Mapping[str, str] = {}
    reckoned: Container[str] = ()
    met: Container[str] = ()
    queen_above: Mapping[str, Sequence[str]] = {}


NOTHING_KNOWN = OfLots()


def names_by_subject(
    yard: Yard,
    trade: Mapping[str, Any],
    seasons: Mapping[Subject, Season],
    pulls_of: Mapping[Subject, Sequence[Pull]],
    of_hives: Mapping[str, OfHives] = {},
    treatment: Mapping[str, Mapping[str, Any]] = {},
    of_lots: OfLots = NOTHING_KNOWN,
    as_of: int | None = None,
    hives: Mapping[Subject, str] = {},
) -> dict[Subject, dict[str, Any]]:
    """Everything an expression may ask of each subject, from the pulls it is about. A harvest or a yard card sees the sums of its lots.

    `trade` are the numbers of the trade in the rules in force. `seasons` is that of its apiary, or of the yard, by subject. `of_hives` is by
    harvest, `treatment` (what is known of the one against mites) by season; `as_of` [s since 1970] is when it is asked, for None at the pull;
    `hives` are the names of hives that are subjects.
    """
    shared = {  # the same objects for all, because an expression that finds them bound is quick
        "yard": _yard(yard),
        "room": filled("room", {"temperature": yard.room.temperature, "humidity": yard.room.humidity}),
        "store": _store(yard),
        "freezer": freezer(next(iter(yard.freezers.values()), None)),
        "trade": trade,
    }
    named = {id(season): _season(season) for season in seasons.values()}
    found = {
        subject: shared | {"season": named[id(seasons[subject])]} | _of_subject(yard, trade, pulls, subject, of_lots) for subject, pulls in pulls_of.items()
    }
    for subject, pulls in pulls_of.items():
        known = [of_hives.get(pull.harvest.harvest, OfHives()) for pull in pulls]
        found[subject]["treatment"] = treatment.get(subject.season) or filled("treatment", {})
        age = float(max(0, as_of - max(pull.pulled for pull in pulls))) if as_of is not None else 0.0
        under, more = any(one.under_treatment for one in known), any(one.more for one in known)
        found[subject]["harvest"] |= {"last": any(one.last for one in known), "more": more, "under_treatment": under, "age": age}
        found[subject]["harvest"]["ahead"] = any(one.ahead for one in known)
        found[subject]["harvest"] |= {"room_readied": known[0].room_readied, "freezer_readied": known[0].freezer_readied}
        if subject in hives:
            found[subject]["hive"] = filled("hive", {"name": hives[subject]})
        if subject.lot:
            lot = found[subject]["lot"]
            lot["treated"] = lot["treated"] or known[0].treated
            lot["supers_off"] = known[0].treated or (lot["treated"] and not found[subject]["treatment"]["supers"])
    return found


def _of_subject(yard: Yard, trade: Mapping[str, Any], pulls: Sequence[Pull], subject: Subject, of_lots: OfLots) -> dict[str, Any]:
    lots = [lot for pull in pulls for lot in pull.harvest.lots]
    reached = any(lot_path(pull.harvest.harvest, lot.id) in of_lots.foulbrood for pull in pulls for lot in pull.harvest.lots)
    died = (of_lots.died.get(lot_path(pull.harvest.harvest, lot.id), "") for pull in pulls for lot in pull.harvest.lots)
    above = dict.fromkeys(hive for pull in pulls for hive in of_lots.queen_above.get(pull.harvest.harvest, ()))
    of_hives = {"died": ", ".join(dict.fromkeys(filter(None, died))), "queen_above": ", ".join(above)}
    harvest = {"harvest": _harvest(trade, pulls, lots, foulbrood=reached, of_hives=of_hives)}
    if not subject.lot:
        return harvest
    return harvest | {"lot": _lot(yard, trade, next(lot for lot in lots if lot.id == subject.lot), pulls[0].harvest.without_bees, subject.path(), of_lots)}


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
    """A freezer's facts; unknown where the yard has none."""
    if one is None:
        return filled("freezer", {})
    said = {"temperature": one.temperature, "space": one.space, "air": one.air, "rated": one.freezing_capacity, "surface": one.surface_coefficient}
    said |= {"error": one.temperature_error, "stowed": one.stowed or ""}
    return filled("freezer", said)


def _yard(yard: Yard) -> dict[str, Any]:
    opened = yard.open_cleaning
    said = {
        "units": yard.units,
        "moisture_limit": yard.limits.moisture,
        "refractometer": yard.refractometer,
        "open_cleaning_lawful": opened.lawful,
        "open_cleaning_distance": opened.distance,
        "fumigant": yard.fumigant,
        "starter_strips": yard.starter_strips,
        "container_lead": yard.container_lead,
        "sells": yard.sells,
    }
    return filled("yard", said)


def _store(yard: Yard) -> dict[str, Any]:
    return filled("store", {"temperature": yard.store.temperature, "humidity": yard.store.humidity} if yard.store else {})


def _season(season: Season) -> dict[str, Any]:
    return filled("season", {name.replace(" ", "_"): season.knows(name) for name in (*MARKS_AND_EDGES, *SPANS)})


def _harvest(trade: Mapping[str, Any], pulls: Sequence[Pull], lots: Sequence[Lot], *, foulbrood: bool, of_hives: Mapping[str, str]) -> dict[str, Any]:
    lots = [lot for lot in lots if lot.kind != BLENDED]  # its honey is counted where it came from
    kinds = {lot.kind for lot in lots}
    hives = {hive for pull in pulls for hive in pull.harvest.hives}
    said = {
        "id": pulls[0].harvest.harvest if len(pulls) == 1 else "",
        "hives": float(len(hives)),
        "frames": float(sum(lot.frames for lot in lots)),
        "boxes": float(sum(boxes(lot, trade) for lot in lots)),
        "lots": float(len(lots)),
        "has_cut_comb": "cut comb" in kinds,
        "has_extracted": "extracted" in kinds,
        "has_chunk": "chunk honey" in kinds or any(lot.kind == "cut comb" and lot.imperfect > 0 for lot in lots),
        "has_dry_comb": "dry comb" in kinds,
        "chunk_mass": sum(count * piece_mass(lot) for lot in lots if (count := chunk_pieces(lot, trade))),
        "foulbrood": foulbrood,
        **of_hives,
    }
    return filled("harvest", said)


def boxes(lot: Lot, trade: Mapping[str, Any]) -> int:
    """Boxes a lot's frames fill."""
    return lot.boxes or math.ceil(lot.frames / float(trade["frames_in_a_box"]))


def piece_mass(lot: Lot) -> float:
    """The mass of one piece of its comb [kg]."""
    return packing.piece_mass(*lot.piece, lot.comb_thickness)


def chunk_pieces(lot: Lot, trade: Mapping[str, Any]) -> int:
    """Pieces of it that go into jars of chunk honey."""
    pieces = _pieces(lot, trade)
    return pieces if lot.kind == "chunk honey" else round(pieces * lot.imperfect)


def _lot(yard: Yard, trade: Mapping[str, Any], lot: Lot, without_bees: float, path: str, of_lots: OfLots) -> dict[str, Any]:
    length, width = lot.piece
    pieces, chunk, mass_of_piece = _pieces(lot, trade), chunk_pieces(lot, trade), piece_mass(lot)
    mass = pieces * mass_of_piece if pieces else lot.frames * frame_honey(lot.frame, trade)
    bucket = lot.buckets or float(trade["usual_bucket"])
    tank = next(iter(yard.of_kind(SETTLING_TANK).values()), None)
    said = {
        "id": lot.id,
        "kind": lot.kind,
        "product": lot.product,
        "frame": lot.frame,
        "frames": float(lot.frames),
        "boxes": float(boxes(lot, trade)),
        "moisture": lot.moisture,
        "moisture_limit": yard.limits.heather if lot.heather else yard.limits.moisture,
        "capped": lot.capped,
        "pieces": float(pieces),
        "packages": float(pieces - chunk),
        "chunk_pieces": float(chunk),
        "jars": float(packing.jars_needed(mass, lot.jar)) if lot.kind in ("extracted", BLENDED) else 0.0,
        "in_buckets": lot.buckets is not None,
        "bucket": bucket,
        "buckets": float(max(1, math.ceil(mass / HONEY_DENSITY / bucket))),
        "chunk_jars": float(packing.chunk_jars(chunk * mass_of_piece, lot.jar, trade["comb_share"])[0]) if chunk else 0.0,
        "piece_mass": mass_of_piece,
        "piece_volume": length * width * lot.comb_thickness,
        "package_volume": packing.package_volume(length, width, lot.comb_thickness, package_of(lot.package, trade)),
        "length": length,
        "width": width,
        "thickness": lot.comb_thickness,
        "package": lot.package,
        "stowed": lot.stowed or "",
        "mass": mass,
        "comb_temperature": lot.comb_temperature if lot.comb_temperature is not None else yard.room.temperature,
        "comb_read": lot.comb_temperature is not None,
        "yeast": lot.yeast,
        "disease": lot.disease is not None,
        "ailment": lot.disease or "none",
        "reckoned": path in of_lots.reckoned,
        "met": path in of_lots.met,
        "foulbrood": path in of_lots.foulbrood,
        "died": of_lots.died.get(path, ""),
        "treated": lot.treated,
        "released": path in of_lots.released,
        "supers_off": lot.treated,
        "beetle": lot.beetle,
        "larvae": of_lots.larvae.get(path, ""),
        "heather": lot.heather,
        "sets_soon": lot.sets_soon,
        "without_bees": without_bees,
        "vessel_depth": tank.depth if tank else None,
    }
    return filled("lot", said)


def _pieces(lot: Lot, trade: Mapping[str, Any]) -> int:
    if lot.kind not in COMB:
        return 0
    if lot.pieces is not None:
        return lot.pieces
    return lot.frames * round(packing.pieces_per_frame(lot.frame, comb_of(lot.frame, trade), *lot.piece).value)
