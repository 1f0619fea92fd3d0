"""A harvest: when it was pulled, from which hives, and its lots."""

import re
import string
from datetime import UTC, datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BeforeValidator

from scheduler.diagnostics import Fault, Refused
from scheduler.documents import Record, read, record
from scheduler.facts.lot import Lot
from scheduler.facts.written import FIRST_YEAR, LAST_YEAR, Id, Loc, Names, Text, together
from scheduler.facts.yard import Yard

PULLED_SAMPLE = "2026-08-11T10:30 (local time at the yard)"


def read_pulled(value: Any) -> datetime:
    """The time of the pull: local time at the yard, or with an offset; between the years 1950 and 2149."""
    if isinstance(value, datetime):
        return value
    text = str(value).strip()
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        raise Fault(f'"{text}" has no time of day', f"{text}T10:30 (local time at the yard)")
    try:
        if not re.match(r"\d{4}-\d{2}-\d{2}[T ]", text):
            raise ValueError(text)
        pulled = datetime.fromisoformat(text)
    except ValueError:
        raise Fault(f'"{text}" is not a date and time', PULLED_SAMPLE) from None
    if not FIRST_YEAR <= pulled.year <= LAST_YEAR:
        raise Fault(f'"{text}" lies outside the years {FIRST_YEAR} to {LAST_YEAR}', "the year that is meant")
    return pulled


def _told_apart(lots: tuple[Lot, ...]) -> tuple[Lot, ...]:
    """Refuse a harvest without lots and lots of the same id."""
    if not lots:
        raise Fault("a harvest has at least one lot", "- {id: a, kind: extracted, frames: 9, frame: medium}")
    faults: list[tuple[Loc, Any, Fault]] = []
    first: dict[str, int] = {}
    for i, lot in enumerate(lots):
        if lot.id in first:
            faults.append(((i, "id"), lot.id, Fault(f'the lot "{lot.id}" stands twice', f'another id, such as "{_free(lots)}"')))
        first.setdefault(lot.id, i)
    if faults:
        raise together("lots", faults)
    return lots


def _free(lots: tuple[Lot, ...]) -> str:
    taken = {lot.id for lot in lots}
    return next((letter for letter in string.ascii_lowercase if letter not in taken), "lot-27")


class Harvest(Record):
    """The harvest file. `pulled` without an offset is local time at the yard; `pulled_at` gives the moment."""

    harvest: Id
    pulled: Annotated[datetime, BeforeValidator(read_pulled)]
    hives: Names = ()
    lots: Annotated[tuple[Lot, ...], AfterValidator(_told_apart)]
    note: Text = ""


def pulled_at(harvest: Harvest, zone: ZoneInfo) -> datetime:
    """The moment of the pull in the yard's zone. A time that comes twice, as clocks go back, is the first of the two.

    Raises `Fault` for a time that does not exist because clocks go forward over it.
    """
    pulled = harvest.pulled
    if pulled.tzinfo is not None:
        return pulled.astimezone(zone)
    local = pulled.replace(tzinfo=zone)
    shown = local.astimezone(UTC).astimezone(zone)
    if shown.replace(tzinfo=None) != pulled:
        skipped = f"clocks in {zone.key} go forward over {pulled:%H:%M} on {pulled.day} {pulled:%B %Y}, so that time does not exist"
        raise Fault(skipped, f"{shown:%Y-%m-%dT%H:%M}, which a clock not yet set forward shows as {pulled:%H:%M}")
    return local


def check_against(harvest: Harvest, yard: Yard, as_of: int | None = None) -> list[tuple[Loc, Fault]]:
    """What is wrong with a harvest in this yard at a time [s since 1970], each with its place in the file."""
    try:
        pulled = pulled_at(harvest, ZoneInfo(yard.place.timezone))
    except Fault as fault:
        return [(("pulled",), fault)]
    if as_of is not None and pulled.timestamp() > as_of:
        now = datetime.fromtimestamp(as_of, pulled.tzinfo)
        ahead = f"the pull on {pulled:%Y-%m-%d at %H:%M} lies after the time that is planned from, {now:%Y-%m-%d at %H:%M}"
        return [(("pulled",), Fault(ahead, "the time at which the supers came off, or plan from a later time"))]
    return []


def read_harvest(content: bytes, path: str, yard: Yard, as_of: int | None = None) -> Harvest:
    """The harvest of one file's bytes, pulled in a yard and not after `as_of` [s since 1970] where that is given.

    Raises `Refused` with every fault and its place.
    """
    document = read(content, path)
    harvest = record(document, Harvest)
    faults = check_against(harvest, yard, as_of)
    if faults:
        raise Refused([document.fault(loc, f"{loc[0]}: {fault.message}", fault.write) for loc, fault in faults])
    return harvest
