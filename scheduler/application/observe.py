"""Tables from instruments: a freezer's log, a hive scale, the weather. Checked and told as understood, then kept whole in the ledger."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Literal, get_args
from zoneinfo import ZoneInfo

from scheduler.application.ledger_view import LedgerView
from scheduler.application.season_evidence import log_of, table_of
from scheduler.diagnostics import Diagnostic, Fault, Refused, instead
from scheduler.estimates.tables import possible
from scheduler.estimates.temperature_log import TemperatureLog
from scheduler.facts.fact import SeriesKind, SeriesRecorded
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY, in_years
from scheduler.outputs.wording.sentence import Reader, in_words
from scheduler.quantities import show, show_duration

KINDS: tuple[SeriesKind, ...] = get_args(SeriesKind)
UNITS: dict[str, Literal["C", "F"]] = {"°C": "C", "C": "C", "°F": "F", "F": "F"}


def record_series(
    ledger: Ledger,
    view: LedgerView,
    words: Sequence[str],
    of: str | None,
    content: bytes,
    path: str,
    now: int,
    *,
    column: str | None = None,
    unit: str | None = None,
) -> str:
    """Keep a table, and say how it was read. Raises `Refused` with the file's name and line, or `Fault`; nothing is written then."""
    kind = _kind(words)
    subject = _subject(view, kind, of)
    if unit is not None and unit not in UNITS:
        raise Fault(f'"{unit}" is not a unit of temperature known here', "one of: °C, °F")
    try:
        fact = SeriesRecorded(occurred_at=now, of=subject, what=kind, text=content.decode("utf-8-sig"), path=path, column=column, unit=UNITS.get(unit or ""))
        words_of_it = _understood(fact, view.zone, view.yard.units, now)
    except UnicodeDecodeError:
        raise Refused([Diagnostic(path, 0, 0, "this is not text in UTF-8", "the table exported as CSV, UTF-8")]) from None
    except Fault as fault:
        raise Refused([Diagnostic(path, 0, 0, fault.message, fault.write)]) from None
    ledger.append([fact], now)
    return f"{kind} of {subject}: {words_of_it}" if subject != kind else f"{kind}: {words_of_it}"


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


def _understood(fact: SeriesRecorded, zone: ZoneInfo, units: str, now: int) -> str:
    reader = Reader(units, zone)
    if fact.what != "freezer":
        table = possible(table_of(fact))
        first, last = table.rows[0].day, table.rows[-1].day
        missing = table.missing()
        gaps = [f"{missing} days without a full reading"] if missing else []
        notes = [in_words(note, reader) for note in table.notes]
        return "; ".join([f"{len(table.rows)} days from {first} to {last}, read in {'°' * (fact.what == 'weather')}{table.unit}", *gaps, *notes])
    log = log_of(fact, zone)
    first = datetime.fromtimestamp(log.rows[0][0], zone)
    in_years(first, first.date())
    if log.rows[-1][0] > now + DAY:
        raise Fault(f"the last row is of {_moment(log.rows[-1][0], zone)}, which is still to come", "the log as it was read out; check the logger's clock")
    values = [value for _, value in log.rows]
    said = f"{len(log.rows)} readings from {_moment(log.rows[0][0], zone)} to {_moment(log.rows[-1][0], zone)}, every {show_duration(log.interval)}"
    span = " to ".join(show(value, "temperature", units) for value in (min(values), max(values)))
    return "; ".join([said, span, *_gaps(log, zone), *(in_words(note, reader) for note in log.notes)])


def _gaps(log: TemperatureLog, zone: ZoneInfo) -> Iterable[str]:
    gaps = log.gaps()
    shown = [f"silent from {_moment(first, zone)} to {_moment(last, zone)}" for first, last in gaps[:3]]
    return [*shown, f"and {len(gaps) - 3} more gaps"] if len(gaps) > 3 else shown


def _moment(at: int, zone: ZoneInfo) -> str:
    moment = datetime.fromtimestamp(at, zone)
    return f"{moment.day} {moment:%b %H:%M}"
