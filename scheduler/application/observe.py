"""Tables from instruments: a freezer's log, a hive scale, the weather. Checked and told as understood, then kept whole in the ledger."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import tzinfo
from pathlib import Path
from typing import NamedTuple, get_args
from zoneinfo import ZoneInfo

from scheduler.application.files import write_bytes
from scheduler.application.ledger_view import LedgerView
from scheduler.application.measured_account import picture_of, understood
from scheduler.application.season_evidence import told_of
from scheduler.diagnostics import Diagnostic, Fault, Refused, instead
from scheduler.estimates.callable_estimates import freezers_of
from scheduler.facts.fact import Recorded, SeriesKind, SeriesRecorded
from scheduler.instruments.moments import zone_told
from scheduler.instruments.numbers import Unit
from scheduler.instruments.reader import AsTold, MeasuredFile, as_told, measured
from scheduler.instruments.text import Unread, decoded
from scheduler.ledger.store import Ledger
from scheduler.outputs.wording.sentence import Reader, in_words
from scheduler.quantities import instant, say

KINDS: tuple[SeriesKind, ...] = get_args(SeriesKind)


class Saying(NamedTuple):
    """What a keeper says of a file beside its name: columns, unit, zone and order of dates as typed, and whether it takes the place of an earlier import."""

    columns: tuple[str, ...] = ()
    times: tuple[str, ...] = ()
    unit: str | None = None
    zone: str | None = None
    dates: str | None = None
    replace: bool = False
    picture: Path | None = None  # where to write a picture of what was read


NOTHING_SAID = Saying()


def record_series(
    ledger: Ledger, view: LedgerView, words: Sequence[str], of: str | None, content: bytes, path: str, now: int, said: Saying = NOTHING_SAID
) -> str:
    """Keep a table, and say how it was read. Raises `Refused` with the file's name, line and column, or `Fault`; nothing is written then."""
    kind = _kind(words)
    subject = _subject(view, kind, of)
    told = as_told(said.columns, said.times, said.unit, said.zone, said.dates)
    earlier = [one for one in view.facts if isinstance(one.fact, SeriesRecorded) and (one.fact.what, one.fact.of) == (kind, subject)]
    digest = hashlib.sha256(content).hexdigest()
    same = next((one for one in reversed(earlier) if _series(one).digest == digest), None)
    name = f"{kind} of {subject}" if subject != kind else kind
    reader = Reader(view.yard.units, view.zone)
    before = _series(earlier[-1]) if earlier else None
    usual_zone = zone_told(before.zone) if before and before.zone else view.zone
    try:
        text, encoding = decoded(content)
        read = _read(text, kind, usual_zone, told, now, before, view.zone)
        fact = _fact(read, SeriesRecorded(occurred_at=now, of=subject, what=kind, text=text, path=path, digest=digest), told, view.zone)
        again = measured(text, kind, view.zone, told_of(fact))  # as every later plan will read it
        if again.rows != read.rows:
            raise Unread(0, 0, "what was settled of this file does not read alike again", "--unit, --zone and --dates, as they are meant")
        words_of_it = understood(read, encoding, view.zone, reader)
    except Unread as fault:
        raise Refused([Diagnostic(path, fault.line, fault.column, fault.said, fault.write)]) from None
    except Fault as fault:
        raise Refused([Diagnostic(path, 0, 0, fault.message, fault.write)]) from None
    if same is not None and not said.replace:
        if told_of(_series(same)) == told_of(fact):
            return in_words(say("file recorded already", name=name, path=path, at=instant(same.recorded_at)), reader)
        raise Fault(f"{path} is recorded already, read in another way", "the same command with --replace")
    if said.replace:
        if not earlier:
            raise Fault(f"no file of {name} is recorded that this could replace", "the same command without --replace")
        fact = fact.model_copy(update={"replaces": (same or earlier[-1]).id})
    told_first, *more = words_of_it
    if said.picture is not None:
        write_bytes(said.picture, picture_of(read, name, told_first, view.zone, view.yard.units, freezers_of(view.rules.trade).mildest))
        more.append(in_words(say("picture written", path=str(said.picture)), reader))
    ledger.append([fact], now)
    return "\n".join([f"{name}: {told_first}", *(f"  {line}" for line in more)])


def _series(one: Recorded) -> SeriesRecorded:
    assert isinstance(one.fact, SeriesRecorded)
    return one.fact


def _read(text: str, kind: SeriesKind, zone: tzinfo, told: AsTold, now: int, before: SeriesRecorded | None, yard: ZoneInfo) -> MeasuredFile:
    """A file, read; what neither it nor the keeper says is as in this instrument's last file: unit, zone, the order of dates that read two ways."""
    unit = _unit_before(before, yard)
    try:
        return measured(text, kind, zone, told, until=now, otherwise=unit)
    except Unread as fault:
        if before is None or before.dates is None or told.order is not None or "--dates" not in fault.write:
            raise
        return measured(text, kind, zone, told._replace(order=before.dates), until=now, otherwise=unit)


def _unit_before(before: SeriesRecorded | None, zone: ZoneInfo) -> Unit | None:
    """The unit this instrument's last file was read in; None where it has none yet."""
    return measured(before.text, before.what, zone, told_of(before), otherwise="kg" if before.what == "scale" else "C").unit if before else None


def _fact(read: MeasuredFile, fact: SeriesRecorded, told: AsTold, yard: ZoneInfo) -> SeriesRecorded:
    """The fact with all that was settled, so that it reads alike whatever a later file or version takes as usual."""
    unit: Unit | None = read.unit if read.unit_from in ("told", "before") else None
    zone = read.zone or str(yard)
    return fact.model_copy(update={"columns": told.readings or None, "times": told.times or None, "unit": unit, "zone": zone, "dates": read.order})


def _kind(words: Sequence[str]) -> SeriesKind:
    said = [word.lower() for word in words if word.lower() != "series"]
    if len(said) != 1 or said[0] not in KINDS:
        raise Fault("a file is of a freezer, the store, a hive scale or the weather", instead(" ".join(said), [f"series {kind}" for kind in KINDS]))
    return said[0]


def _subject(view: LedgerView, kind: SeriesKind, of: str | None) -> str:
    """Which freezer a log is of; where there is one it need not be said. A scale or the weather may be named."""
    if kind == "store":
        if of not in (None, "store") or view.yard.store is None:
            raise Fault("a yard has one store, which its file names", '"store: {temperature: 12 °C}" in the yard file, and no --of')
        return kind
    if kind != "freezer":
        return of or kind
    freezers = list(view.yard.freezers)
    if of in freezers or (of is None and len(freezers) == 1):
        return of or freezers[0]
    if not freezers:
        raise Fault("the yard has no freezer", '"freezer: {temperature: -18 °C, space: 90 L}" under equipment')
    raise Fault("which freezer?" if of is None else f'"{of}" is not a freezer of this yard', " or ".join(f"--of '{name}'" for name in freezers))
