"""Tables from instruments: a freezer's log, a hive scale, the weather. Checked and told as understood, then kept whole in the ledger."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import NamedTuple, get_args
from zoneinfo import ZoneInfo

from scheduler.application.files import write_bytes
from scheduler.application.ledger_view import LedgerView
from scheduler.application.measured_pictures import picture_of
from scheduler.application.season_evidence import told_of
from scheduler.diagnostics import Diagnostic, Fault, Refused, instead
from scheduler.estimates.tables import possible, table_in
from scheduler.estimates.temperature_log import TemperatureLog, log_in
from scheduler.facts.fact import Recorded, SeriesKind, SeriesRecorded
from scheduler.instruments.faults import WHAT, Faulty
from scheduler.instruments.moments import zone_told
from scheduler.instruments.numbers import SIGNS, Unit, unit_named
from scheduler.instruments.reader import AsTold, MeasuredFile, measured
from scheduler.instruments.text import Unread, decoded
from scheduler.ledger.store import Ledger
from scheduler.outputs.wording.sentence import Reader, in_words
from scheduler.quantities import Quantity, Statement, celsius, instant, kilograms, say, show, show_duration

KINDS: tuple[SeriesKind, ...] = get_args(SeriesKind)
ORDERS = ("day first", "month first", "year first")
_LISTED = 5  # lines of a fault that are named


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
    told = _told(said)
    earlier = [one for one in view.facts if isinstance(one.fact, SeriesRecorded) and (one.fact.what, one.fact.of) == (kind, subject)]
    digest = hashlib.sha256(content).hexdigest()
    same = next((one for one in reversed(earlier) if _series(one).digest == digest), None)
    name = f"{kind} of {subject}" if subject != kind else kind
    reader = Reader(view.yard.units, view.zone)
    before = _series(earlier[-1]) if earlier else None
    usual = _as_before(told, before, view.zone)
    try:
        text, encoding = decoded(content)
        read = measured(text, kind, view.zone, usual, until=now, otherwise=_unit_before(before, view.zone))
        fact = _fact(read, SeriesRecorded(occurred_at=now, of=subject, what=kind, text=text, path=path, digest=digest), usual, view.zone)
        again = measured(text, kind, view.zone, told_of(fact))  # as every later plan will read it
        if again.rows != read.rows:
            raise Unread(0, 0, "what was settled of this file does not read alike again", "--unit, --zone and --dates, as they are meant")
        words_of_it = _understood(read, encoding, view.zone, reader)
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
        write_bytes(said.picture, picture_of(read, name, told_first, view.zone, view.yard.units))
        more.append(in_words(say("picture written", path=str(said.picture)), reader))
    ledger.append([fact], now)
    return "\n".join([f"{name}: {told_first}", *(f"  {line}" for line in more)])


def _series(one: Recorded) -> SeriesRecorded:
    assert isinstance(one.fact, SeriesRecorded)
    return one.fact


def _as_before(told: AsTold, before: SeriesRecorded | None, yard: ZoneInfo) -> AsTold:
    """What is told, and for what is not told what held for this instrument's last file: another zone than the yard's, the order of dates."""
    if before is None:
        return told
    zone = before.zone if before.zone != str(yard) else None
    return told._replace(zone=told.zone or zone, order=told.order or before.dates)


def _unit_before(before: SeriesRecorded | None, zone: ZoneInfo) -> Unit | None:
    """The unit this instrument's last file was read in; None where it has none yet."""
    return measured(before.text, before.what, zone, told_of(before), otherwise="kg" if before.what == "scale" else "C").unit if before else None


def _told(said: Saying) -> AsTold:
    unit = unit_named(said.unit) if said.unit is not None else None
    if said.unit is not None and unit is None:
        raise Fault(f'"{said.unit}" is not a unit known here', f"one of: {', '.join(SIGNS.values())}")
    if said.zone is not None:
        zone_told(said.zone)
    order = next((one for one in ORDERS if one == (said.dates or "").replace("-", " ").lower()), None)
    if said.dates is not None and order is None:
        raise Fault(f'"{said.dates}" is not an order of dates', " or ".join(f"'{one}'" for one in ORDERS))
    return AsTold(said.columns, said.times, unit, said.zone, order)  # type: ignore[arg-type]


def _fact(read: MeasuredFile, fact: SeriesRecorded, told: AsTold, yard: ZoneInfo) -> SeriesRecorded:
    """The fact with all that was settled, so that it reads alike whatever a later file or version takes as usual."""
    unit: Unit | None = read.unit if read.unit_from in ("told", "before") else None
    zone = read.zone if read.zone_from in ("told", "column") else str(yard)
    return fact.model_copy(update={"columns": told.readings or None, "times": told.times or None, "unit": unit, "zone": zone, "dates": read.order})


def _kind(words: Sequence[str]) -> SeriesKind:
    said = [word.lower() for word in words if word.lower() != "series"]
    if len(said) != 1 or said[0] not in KINDS:
        raise Fault("a file is of a freezer, a hive scale or the weather", instead(" ".join(said), [f"series {kind}" for kind in KINDS]))
    return said[0]


def _subject(view: LedgerView, kind: SeriesKind, of: str | None) -> str:
    """Which freezer a log is of; where there is one it need not be said. A scale or the weather may be named."""
    if kind != "freezer":
        return of or kind
    freezers = list(view.yard.freezers)
    if of in freezers or (of is None and len(freezers) == 1):
        return of or freezers[0]
    if not freezers:
        raise Fault("the yard has no freezer", '"freezer: {temperature: -18 °C, space: 90 L}" under equipment')
    raise Fault("which freezer?" if of is None else f'"{of}" is not a freezer of this yard', " or ".join(f"--of '{name}'" for name in freezers))


def _understood(read: MeasuredFile, encoding: str, zone: ZoneInfo, reader: Reader) -> list[str]:
    """How a file was read: its rows first, then what was taken for what, then what was left out."""
    first, ends = _rows_of(read, zone, reader.units)
    ways = list(read.account) if encoding == "UTF-8" else [*read.account, say("encoding", name=encoding)]
    lines = [first, in_words(say("read as", ways=tuple(ways)), reader), in_words(ends, reader)]
    silent, odd = (tuple(_fault(one) for one in faulty) for faulty in (read.faults, read.odd))
    lines += [in_words(say("left out as silence", faults=silent), reader)] if silent else []
    lines += [in_words(say("looks odd", faults=odd), reader)] if odd else []
    return lines + ([in_words(say("rows twice", rows=read.repeated), reader)] if read.repeated else [])


def _fault(one: Faulty) -> Statement:
    lines = ", ".join(map(str, one.lines[:_LISTED])) + (", ..." if len(one.lines) > _LISTED else "")
    return say("rows at fault", rows=len(one.lines), what=WHAT[one.kind], lines=lines)


def _rows_of(read: MeasuredFile, zone: ZoneInfo, units: str) -> tuple[str, Statement]:
    reader = Reader(units, zone)
    if read.kind != "freezer":
        table = possible(table_in(read, zone))
        first, last = table.rows[0], table.rows[-1]
        missing = table.missing()
        gaps = [f"{missing} days without a full reading"] if missing else []
        notes = [in_words(note, reader) for note in table.notes]
        ends = say("first and last day", first=first.day, read=_shown(read, first.cells), last=last.day, then=_shown(read, last.cells))
        return "; ".join([f"{len(table.rows)} days from {first.day} to {last.day}, read in {table.unit}", *gaps, *notes]), ends
    log = log_in(read)
    values = [value for _, value in log.rows]
    said = f"{len(log.rows)} readings from {_moment(log.rows[0][0], zone)} to {_moment(log.rows[-1][0], zone)}, every {show_duration(log.interval)}"
    span = " to ".join(show(value, "temperature", units) for value in (min(values), max(values)))
    at, until = log.rows[0], log.rows[-1]
    ends = say("first and last reading", first=instant(at[0]), read=celsius(at[1]), last=instant(until[0]), then=celsius(until[1]))
    return "; ".join([said, span, *_gaps(log, zone), *(in_words(note, reader) for note in log.notes)]), ends


def _shown(read: MeasuredFile, cells: Sequence[float | None]) -> tuple[Statement, ...]:
    quantities: Iterator[Quantity | None] = (None if cell is None else kilograms(cell) if read.kind == "scale" else celsius(cell) for cell in cells)
    return tuple(say("no reading") if one is None else say("a reading", value=one) for one in quantities)


def _gaps(log: TemperatureLog, zone: ZoneInfo) -> list[str]:
    gaps = log.gaps()
    shown = [f"silent from {_moment(first, zone)} to {_moment(last, zone)}" for first, last in gaps[:3]]
    return [*shown, f"and {len(gaps) - 3} more gaps"] if len(gaps) > 3 else shown


def _moment(at: int, zone: ZoneInfo) -> str:
    moment = datetime.fromtimestamp(at, zone)
    return f"{moment.day} {moment:%b %H:%M}"
