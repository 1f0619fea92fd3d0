"""The record of a lot as one sheet: where it came from, what became of it, how it was kept, where it went."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.fact import (
    READINGS,
    HiveDied,
    HiveDisease,
    HiveTreatment,
    LarvaeSeen,
    LotReleased,
    Reading,
    TaskBegun,
    TaskDone,
    TaskFact,
    TaskSkipped,
    Wanted,
)
from scheduler.facts.harvest import EVERY_HIVE, Harvest, Lot
from scheduler.outputs.text.wrapping import Pen
from scheduler.quantities import show

LEAD = 18  # columns of a moment


class StepTold(NamedTuple):
    """Something that became of the lot: the moment [s since 1970], what it was, who did it, and when it was written down, where that was much later."""

    at: int
    fact: TaskFact
    title: str
    told: int | None = None


class Frozen(NamedTuple):
    """A time in the freezer: of which task, from when to when (None: still in), and the warmest and coldest reading meanwhile [°C, None: none]."""

    task: str
    begun: int
    ended: int | None
    warmest: float | None
    coldest: float | None


class LotRecord(NamedTuple):
    """The record of a lot; moments are seconds since 1970."""

    lot: Lot
    harvest: Harvest
    pulled: int | None  # None while the pull is only planned
    steps: tuple[StepTold, ...]
    frozen: tuple[Frozen, ...]
    readings: tuple[Reading, ...]
    treatments: tuple[HiveTreatment, ...]  # of its hives, before or after
    diseases: tuple[HiveDisease | HiveDied, ...]
    larvae: tuple[LarvaeSeen, ...]
    released: tuple[LotReleased, ...]
    wants: tuple[Wanted, ...]
    stopped: tuple[str, ...]  # by what it is stopped now
    hives: tuple[str, ...]  # its own, and of the lots that met in it
    made_of: tuple[str, ...] = ()  # the lots that met in it, however far back
    went_into: tuple[str, ...] = ()  # the lots that it is part of


class LotSheet:
    """Writes one sheet; moments in the yard's zone, quantities in its units."""

    def __init__(self, yard: str, zone: ZoneInfo, units: str, width: int) -> None:
        self.yard, self.zone, self.units, self.pen = yard, zone, units, Pen(width, colour=False)

    def text(self, record: LotRecord, now: int, waits: Mapping[str, float]) -> str:
        """The sheet as printed at `now` [s since 1970]; `waits` is how long after a treatment supers are kept off, by active ingredient [s]."""
        lot, harvest = record.lot, record.harvest
        name = f"{harvest.harvest}/{lot.id}"
        lines = [f"Record of lot {name}", f"{self.yard}; printed {self.when(now)}", ""]
        lines += self._row("Kind", f"{lot.product}: {lot.frames} {lot.frame} frames")
        lines += self._row("Came off", self.when(record.pulled) if record.pulled is not None else "planned, not pulled yet")
        lines += self._row("Hives", ", ".join(record.hives) or "not named")
        if record.made_of:
            lines += self._row("Made of", ", ".join(record.made_of))
        if record.went_into:
            lines += self._row("Went into", ", ".join(record.went_into))
        if lot.buckets:
            lines += self._row("Kept in", f"buckets of {show(lot.buckets, 'volume', self.units)}")
        lines += self._row("Moisture", show(lot.moisture, "share", self.units) if lot.moisture is not None else "not read")
        if lot.treated or lot.disease:
            lines += self._row("Marked", " and ".join([*(["treated"] if lot.treated else []), *([f"disease: {lot.disease}"] if lot.disease else [])]))
        if record.stopped:
            lines += self._row("STOPPED", ", ".join(record.stopped))
        lines += self._section("What was done", [(step.at, _done(step.fact, step.title, self._told(step.told))) for step in record.steps])
        lines += self._section("In the freezer", [(one.begun, self._frozen(one)) for one in record.frozen])
        lines += self._section("Read", [(one.occurred_at, f"{one.what}: {show(one.value, READINGS[one.what][0], self.units)}") for one in record.readings])
        lines += self._section("Medicine, of its hives", [(one.occurred_at, self._treated(one, record.treatments, waits)) for one in record.treatments])
        lines += self._section("Disease, of its hives", [(one.occurred_at, _disease(one)) for one in record.diseases])
        larvae = [(one.occurred_at, "live larva seen" if one.seen else "looked through: no larva any more") for one in record.larvae]
        lines += self._section("Larvae", larvae)
        lines += self._section("Let go on in spite of a stop", [(one.occurred_at, one.because) for one in record.released])
        lines += self._section("Wanted", [(one.until, _wanted(one)) for one in record.wants])
        lines += ["", *self.pen.wrapped("Checked and signed: ____________________   Date: ____________")]
        lines += ["", *self.pen.wrapped("Local codes say what a record must hold and how long it is kept; they come before this sheet.")]
        return "\n".join(lines) + "\n"

    def when(self, moment: int) -> str:
        """ "2026-08-13 19:10" at the yard: a sheet outlives its year."""
        return datetime.fromtimestamp(moment, self.zone).strftime("%Y-%m-%d %H:%M")

    def _row(self, name: str, words: str) -> Iterator[str]:
        yield from self.pen.wrapped(words, first=f"{name}: ", indent=LEAD)

    def _section(self, title: str, rows: Sequence[tuple[int, str]]) -> Iterator[str]:
        if rows:
            yield from ("", title)
        for moment, words in sorted(rows):
            yield from self.pen.wrapped(words, first=self.when(moment), indent=LEAD)

    def _told(self, moment: int | None) -> str:
        return f" (written down {self.when(moment)})" if moment is not None else ""

    def _frozen(self, one: Frozen) -> str:
        read = "no reading meanwhile"
        if one.warmest is not None and one.coldest is not None:
            warmest, coldest = (show(value, "temperature", self.units) for value in (one.warmest, one.coldest))
            read = f"read {coldest} to {warmest}" if one.warmest > one.coldest else f"read {warmest}"
        if one.ended is None:
            return f"{one.task}: in, not out yet; {read}"
        return f"{one.task}: in, out {self.when(one.ended)} after {_to_the_minute(one.ended - one.begun)}; {read}"

    def _treated(self, one: HiveTreatment, all_: Sequence[HiveTreatment], waits: Mapping[str, float]) -> str:
        hive = "every hive" if one.hive == EVERY_HIVE else one.hive
        if one.begins:
            return f"{hive}: treatment begun, {_medicine(one)}"
        begun = [
            each for each in all_ if each.begins and each.occurred_at <= one.occurred_at and (EVERY_HIVE in (each.hive, one.hive) or each.hive == one.hive)
        ]
        wait = waits.get(begun[-1].active or "") if begun else None  # with what is said where it begins
        if not wait:
            return f"{hive}: treatment ended; supers again as the label says"
        return f"{hive}: treatment ended; supers again from {self.when(one.occurred_at + round(wait))}, unless the label says otherwise"


def _medicine(one: HiveTreatment) -> str:
    """Product, active ingredient and batch, as far as they were said; what was not, leaves a gap that is said."""
    named = one.product or one.active or "product not said"
    active = f" ({one.active})" if one.product and one.active else ""
    return f"{named}{active}, batch {one.batch or 'not said'}"


def _done(fact: TaskFact, title: str, told: str) -> str:
    by = f", by {fact.by}" if fact.by else ""
    if isinstance(fact, TaskSkipped):
        return f"{title}: not done, {fact.because}{by}{told}"
    if isinstance(fact, TaskBegun):
        return f"{title}: begun{by}{told}"
    part = f", {fact.amount:g} of it" if isinstance(fact, TaskDone) and fact.amount is not None else ""
    return f"{title}: done{part}{by}{told}"


def _disease(one: HiveDisease | HiveDied) -> str:
    if isinstance(one, HiveDied):
        return f"{one.hive}: the colony died, " + (f"of this: {one.cause}" if one.cause else "of what is not known yet")
    return f"{one.hive}: foulbrood " + ("suspected" if one.suspected else "not confirmed by the inspector")


def _wanted(one: Wanted) -> str:
    return f"{one.count} {one.what}" + (f" for {one.who}" if one.who else "")


def _to_the_minute(seconds: int) -> str:
    """A recorded time, not rounded to days as a planned one is: "48 h 40 min"."""
    hours, minutes = divmod(seconds // 60, 60)
    return f"{hours} h" + (f" {minutes} min" if minutes else "")
