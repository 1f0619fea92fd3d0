"""What a keeper tells becomes a fact in the ledger: checked first, against the plan it is about."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.application.keeping import Keeping
from scheduler.application.planned import rules_of
from scheduler.diagnostics import Fault, instead
from scheduler.facts.happenings import MEASURES, Fact, HarvestLogged, Observed, Reading, TaskBegun, TaskDone, TaskPutOff, TaskSkipped, YardSet
from scheduler.facts.harvest import read_harvest
from scheduler.facts.season import MARKS, SPANS
from scheduler.facts.yard import Yard, read_yard
from scheduler.ledger.store import Ledger
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.quantities import parse

SAID = {
    "dearth begins": "robbing begins",
    "dearth began": "robbing begins",
    "dearth ends": "robbing ends",
    "dearth ended": "robbing ends",
    "flow begins": "main flow begins",
    "flow ends": "main flow ends",
}
EDGES = tuple(f"{span} {edge}" for span in SPANS for edge in ("begins", "ends"))


@dataclass(frozen=True)
class Said:
    """What was written down, in words, and the fact."""

    words: str
    fact: Fact


def opened_at(ledger: Ledger, now: int) -> Keeping:
    """What the ledger says at a moment."""
    return Keeping(ledger.facts(), now)


def set_yard(ledger: Ledger, content: bytes, path: str, now: int) -> Yard:
    """Set the yard file, checked with its rules. Raises `Refused`, and writes nothing then."""
    yard = read_yard(content, path)
    rules_of(yard, content, Path(path))
    ledger.append([YardSet(occurred_at=now, text=content.decode("utf-8-sig"), path=str(Path(path).resolve()))], now)
    return yard


def log(ledger: Ledger, content: bytes, path: str, now: int) -> str:
    """Log a harvest file, or log it again corrected; returns the harvest's name. Raises `Refused`, and writes nothing then."""
    harvest = read_harvest(content, path, opened_at(ledger, now).yard, now)
    ledger.append([HarvestLogged(occurred_at=now, harvest=harvest.harvest, text=content.decode("utf-8-sig"), path=path)], now)
    return harvest.harvest


def named(plan: Plan, text: str) -> PlannedTask:
    """The task a person means by an id or the end of one ("freeze.1", "a/freeze"). Raises `Fault` listing what it could be."""
    ids = {task.id: task for task in plan.tasks}
    if text in ids:
        return ids[text]
    ends = [task for task in plan.tasks if task.id.endswith(f"/{text}") or task.id.endswith(f"/{text}.1")]
    if len(ends) == 1:
        return ends[0]
    left = [task for task in ends if task.status in ("planned", "provisional")]
    if len(left) == 1:
        return left[0]
    if ends:
        raise Fault(f'"{text}" could be any of {len(ends)} tasks', " or ".join(task.id for task in ends[:8]))
    near = [name for name in ids if re.sub(r"[^a-z]", "", text.lower()) in re.sub(r"[^a-z]", "", name.lower())] if text.strip() else []
    raise Fault(f'no task is named "{text}"', " or ".join(near[:8]) if near else instead(text, [name.partition("/")[2] for name in ids]))


def done(ledger: Ledger, keeping: Keeping, text: str, at: int, now: int, *, whole: bool = False, amount: float | None = None) -> Said:
    """Mark a task as done; of a task that holds, the first word means that its hold has begun, unless it is `whole`."""
    task = named(keeping.plan, text)
    zone = ZoneInfo(keeping.plan.timezone)
    when = _shown(at, zone)
    fact: Fact
    if task.status == "done":
        raise Fault(f"{task.id} is done already", "afterpull undo, to take the last word back")
    if amount is not None:
        fact = TaskDone(occurred_at=at, task=task.id, amount=amount)
        return _told(ledger, Said(f"{task.title}: {amount:g} done {when}", fact), now)
    if task.hold_done is not None and not whole and task.id not in keeping.happened.begun:
        hold = task.hold_done - (task.hands[0][1] if task.hands else task.start)
        fact = TaskBegun(occurred_at=at, task=task.id)
        return _told(ledger, Said(f"{task.title}: begun {when}, holds until {_shown(at + hold, zone)}. When it is over: done again", fact), now)
    began = keeping.happened.begun.get(task.id)
    fact = TaskDone(occurred_at=at, task=task.id, started_at=began if began is not None and began <= at else None)
    early = task.hold_done - at if task.hold_done is not None and began is not None else 0
    warned = f"; its hold was to last until {_shown(task.hold_done or at, zone)}, so it may not have done its work" if early > 60 else ""
    return _told(ledger, Said(f"{task.title}: done {when}{warned}", fact), now)


def skip(ledger: Ledger, keeping: Keeping, text: str, because: str, at: int, now: int) -> Said:
    """Say that a task will not be done, and why."""
    task = named(keeping.plan, text)
    return _told(ledger, Said(f"{task.title}: skipped, {because}", TaskSkipped(occurred_at=at, task=task.id, because=because)), now)


def put_off(ledger: Ledger, keeping: Keeping, text: str, until: int, now: int) -> Said:
    """Say that a task is not to start before a moment."""
    task = named(keeping.plan, text)
    words = f"{task.title}: put off until {_shown(until, ZoneInfo(keeping.plan.timezone))}"
    return _told(ledger, Said(words, TaskPutOff(occurred_at=now, task=task.id, until=until)), now)


def observe(ledger: Ledger, keeping: Keeping, words: Sequence[str], of: str | None, on: date, at: int, now: int) -> Said:
    """A mark of the season seen on a day ("first frost"), or a reading ("moisture", "17.8 %") of a lot or of equipment."""
    what = " ".join(words).strip().lower()
    mark = SAID.get(what, what)
    if mark in (*MARKS, *EDGES):
        return _told(ledger, Said(f"{mark}: seen on {on}", Observed(occurred_at=at, mark=mark, on=on)), now)
    measure = next((name for name in sorted(MEASURES, key=len, reverse=True) if what.startswith(name + " ")), None)
    if measure is None:
        raise Fault(
            f'"{what}" is neither a mark of the season nor a reading with its value', instead(what, [*MARKS, *EDGES, *(f"{name} VALUE" for name in MEASURES)])
        )
    value = parse(what.removeprefix(measure).strip().replace("°c", "°C").replace("°f", "°F").replace(" c", " °C").replace(" f", " °F"), MEASURES[measure][0])
    subject = _subject(keeping, measure, of)
    return _told(
        ledger, Said(f"{measure} of {subject}: {what.removeprefix(measure).strip()}", Reading(occurred_at=at, of=subject, what=measure, value=value)), now
    )


def undo(ledger: Ledger, now: int) -> str | None:
    """Take back the last fact that stands; says which."""
    last = ledger.undo_last(now)
    return None if last is None else f"{last.fact.kind} of {datetime.fromtimestamp(last.fact.occurred_at).astimezone():%Y-%m-%d %H:%M} is taken back"


def _subject(keeping: Keeping, measure: str, of: str | None) -> str:
    """What a reading is of: a lot, a freezer, a room; where only one is possible it need not be said."""
    lots = [f"{harvest.harvest}/{lot.id}" for harvest in keeping.harvests for lot in harvest.lots]
    if measure in ("moisture", "yeast", "comb temperature", "core temperature", "mass"):
        known = lots
    elif measure == "freezer temperature":
        known = [name for name, one in keeping.yard.equipment.items() if (one.kind or name) == "freezer"]
    else:
        known = [measure.partition(" ")[0]]
    if of is None and len(known) == 1:
        return known[0]
    matches = [name for name in known if of is not None and (name == of or name.endswith(f"/{of}"))]
    if len(matches) == 1:
        return matches[0]
    raise Fault(
        f"{measure}: of what?" if of is None else f'{measure}: "{of}" is not one of what it can be of',
        " or ".join(f"--of {name}" for name in known[:8]) or "log a harvest first",
    )


def _told(ledger: Ledger, said: Said, now: int) -> Said:
    ledger.append([said.fact], now)
    return said


def _shown(at: int, zone: ZoneInfo) -> str:
    moment = datetime.fromtimestamp(at, zone)
    return f"{moment:%a} {moment.day} {moment:%b %H:%M}"


def moment_of(text: str | None, now: int, zone: ZoneInfo) -> int:
    """A moment as typed: "19:40" (the last time it was that), "2026-08-12T19:40", "yesterday 19:40"; without words, now."""
    if text is None:
        return now
    today = datetime.fromtimestamp(now, zone)
    words = text.strip().lower()
    try:
        if re.fullmatch(r"\d{1,2}:\d{2}", words):
            at = datetime.combine(today.date(), datetime.strptime(words, "%H:%M").time(), tzinfo=zone)  # noqa: DTZ007 the zone is the yard's
            return int((at - timedelta(1) if at > today else at).timestamp())
        if words.startswith("yesterday "):
            clock = datetime.strptime(words.removeprefix("yesterday ").strip(), "%H:%M").time()  # noqa: DTZ007
            return int(datetime.combine(today.date() - timedelta(1), clock, tzinfo=zone).timestamp())
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        raise Fault(f'"{text}" is not a time', '"19:40", "yesterday 19:40" or "2026-08-12T19:40" (local time at the yard)') from None
    return int((found if found.tzinfo else found.replace(tzinfo=zone)).timestamp())
