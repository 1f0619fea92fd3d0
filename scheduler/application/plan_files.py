"""A plan from files, without a ledger: yard and harvests in, plan out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.application.degree_day_marks import degree_day_marks
from scheduler.application.files import read_bytes
from scheduler.application.packs import unpacked
from scheduler.application.yard_check import misread_equipment, packages_too_large, work_known
from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.documents import read
from scheduler.facts.harvest import Harvest, read_harvest, still_ahead
from scheduler.facts.season import Season
from scheduler.facts.yard import Yard, read_yard
from scheduler.local_time import in_years
from scheduler.planning.blends import with_blends
from scheduler.planning.draft import NOTHING
from scheduler.planning.problem import Problem
from scheduler.rules.load import is_bundled, load
from scheduler.rules.rule_set import Rules


def problem_of(harvests: Sequence[Path], yard: Path | None, rules: Sequence[str], as_of: datetime | str) -> Problem:
    """What the files describe, as a problem for the planner.

    `yard` defaults to yard.yaml beside the first harvest. `as_of` is a moment, or local time at the yard as text.
    Raises `Refused` with every fault of every file.
    """
    contents = [(path, read_bytes(path)) for path in harvests]
    yard_path = yard or find_yard(harvests)
    place = read_yard(read_bytes(yard_path), str(yard_path))
    at = moment(as_of, place)
    in_force = rules_of(place, rules)
    faults: list[Diagnostic] = []
    found: list[Harvest] = []
    for path, written in contents:
        try:
            found.append(read_harvest(written, str(path), place, at, in_force.products.known))
            faults += packages_too_large(found[-1], place, in_force.trade)
        except Refused as refused:
            told = Diagnostic(str(path), 1, 1, "this is a yard, and a plan is made of a harvest", f"afterpull plan HARVEST --yard {path}")
            faults += [told] if is_yard(str(path)) else refused.diagnostics
    faults += _twice(found, harvests) if not faults else []
    if faults:
        raise Refused(faults)
    ahead = still_ahead(found, ZoneInfo(place.place.timezone), at)
    blended, parents = with_blends(found, in_force.trade)
    happened = NOTHING._replace(parents=parents, reckoned=frozenset(parents))
    return Problem(place, in_force, blended, at, usual_season(place, at), happened, ahead=ahead)


def usual_season(yard: Yard, at: int) -> Season:
    """The season by the yard file alone: its normals, and those that follow from its degree days."""
    if yard.degree_days is None:
        return yard.season
    return degree_day_marks(yard, {}, datetime.fromtimestamp(at, ZoneInfo(yard.place.timezone)).date()).season(yard.season)


def rules_of(yard: Yard, more: Sequence[str] = ()) -> Rules:
    """The rules in force for a yard: bundled, its overlays, those named besides, and its own changes.

    What is named besides was typed, and lies where it was typed, or in the yard's folder.
    """
    try:
        beside = Path(yard.document.path).parent
        rules = load(unpacked([*yard.rules, *where_typed(more)], beside), yard.changes, yard.document, beside=beside, of_yard=yard.kinds.values())
    except Fault as fault:
        raise Refused([Diagnostic(yard.document.path, 0, 0, fault.message, fault.write)]) from None
    if faults := [*work_known(yard, rules), *misread_equipment(yard, rules)]:
        raise Refused(faults)
    return rules


def where_typed(names: Sequence[str]) -> list[str]:
    """Names of rules as they were typed; what lies beside whoever typed it is found from any folder."""
    return [str(Path(name).absolute()) if not is_bundled(name) and Path(name).exists() else name for name in names]


def find_yard(harvests: Sequence[Path]) -> Path:
    """yard.yaml beside the first harvest, else in the current folder."""
    for folder in dict.fromkeys([*(path.parent for path in harvests[:1]), Path()]):
        if (folder / "yard.yaml").is_file():
            return folder / "yard.yaml"
    raise Refused([Diagnostic("yard.yaml", 0, 0, "there is no yard.yaml beside the harvest or in this folder", "--yard PATH, or make one: afterpull init")])


def is_yard(other: str) -> bool:
    """Whether what a plan is compared with is a yard file; anything else is taken as rules. Raises `Refused` where a file is no YAML."""
    path = Path(other)
    if not path.is_file():
        return False
    data = read(read_bytes(path), other).data
    return isinstance(data, dict) and "yard" in data


def moment(as_of: datetime | str, yard: Yard) -> int:
    """As-of time in seconds since 1970; text without an offset is local time at the yard."""
    if isinstance(as_of, str):
        try:
            as_of = in_years(datetime.fromisoformat(as_of), as_of)
        except Fault as fault:
            raise Refused([Diagnostic("--as-of", 0, 0, fault.message, fault.write)]) from None
        except ValueError:
            raise Refused([Diagnostic("--as-of", 0, 0, f'"{as_of}" is not a time', "2026-08-11T10:30 (local time at the yard), or with an offset")]) from None
    if as_of.tzinfo is None:
        as_of = as_of.replace(tzinfo=ZoneInfo(yard.place.timezone))
    return int(as_of.timestamp())


def _twice(found: Sequence[Harvest], paths: Sequence[Path]) -> list[Diagnostic]:
    first: dict[str, Path] = {}
    faults = []
    for harvest, path in zip(found, paths, strict=True):
        if harvest.harvest in first:
            faults.append(Diagnostic(str(path), 1, 1, f'the harvest "{harvest.harvest}" is also in {first[harvest.harvest]}', "another name for one of them"))
        first.setdefault(harvest.harvest, path)
    return faults
