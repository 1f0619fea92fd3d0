"""What a keeper reports becomes a fact in the ledger: checked first, against the plan it is about."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.application.hive_facts import FOULBROOD, TREATMENT, done_by_hive, foulbrood, noticed_at, questions, treatment
from scheduler.application.hive_facts import release as let_go
from scheduler.application.ledger_view import LedgerView, view_at
from scheduler.application.lookup import named
from scheduler.application.plan_files import rules_of
from scheduler.application.yard_check import known_person, packages_too_large
from scheduler.diagnostics import Diagnostic, Fault, Refused, instead
from scheduler.facts.fact import READINGS, Fact, HarvestLogged, Observed, Reading, SeriesRecorded, TaskBegun, TaskDone, TaskPutOff, TaskSkipped, YardSet
from scheduler.facts.harvest import lot_path, pulled_at, read_harvest
from scheduler.facts.season import BLOOM, MARKS_AND_EDGES
from scheduler.facts.yard import Yard, read_yard
from scheduler.ledger.store import Ledger
from scheduler.local_time import ceil_to_minute, spoken
from scheduler.planning.plan import PlannedTask
from scheduler.quantities import parse

SYNONYMS = {
    "dearth begins": "robbing begins",
    "dearth began": "robbing begins",
    "dearth ends": "robbing ends",
    "dearth ended": "robbing ends",
    "flow begins": "main flow begins",
    "flow ends": "main flow ends",
}


@dataclass(frozen=True)
class Confirmation:
    """What was written down, in words, and the fact."""

    words: str
    fact: Fact


def set_yard(ledger: Ledger, content: bytes, path: str, now: int) -> Yard:
    """Set the yard file, checked with its rules. Raises `Refused`, and writes nothing then."""
    yard = read_yard(content, path)
    rules_of(yard)
    ledger.append([YardSet(occurred_at=now, text=content.decode("utf-8-sig"), path=str(Path(path).resolve()))], now)
    return yard


def log(ledger: Ledger, files: Sequence[tuple[bytes, str]], now: int) -> list[str]:
    """Log several files, all or none, each its content and its path; returns the names. Raises `Refused` with the faults of all."""
    view = view_at(ledger, now)
    yard = view.yard
    faults: list[Diagnostic] = []
    found: dict[str, HarvestLogged] = {}
    for content, path in files:
        try:
            harvest = read_harvest(content, path, yard, now)
        except Refused as refused:
            faults += refused.diagnostics
            continue
        faults += packages_too_large(harvest, yard)
        if harvest.harvest in found:
            faults.append(Diagnostic(path, 1, 1, f'the harvest "{harvest.harvest}" is also in {found[harvest.harvest].path}', "another name for one of them"))
        found[harvest.harvest] = HarvestLogged(occurred_at=now, harvest=harvest.harvest, text=content.decode("utf-8-sig"), path=path)
    if faults:
        raise Refused(faults)
    ledger.append(found.values(), now)
    return list(found)


def asked(ledger: Ledger, names: Sequence[str], now: int) -> list[str]:
    """What is asked of harvests that were just logged; nothing waits for an answer."""
    return list(questions(view_at(ledger, now), names))


def done(
    ledger: Ledger, view: LedgerView, texts: Sequence[str], at: int, now: int, *, whole: bool = False, amount: float | None = None, by: str | None = None
) -> list[Confirmation]:
    """Mark several tasks as done at one moment, all or none. Raises `Fault` for an unknown one or person, one that is done, a moment still to come."""
    _refuse_future(at, now, view.zone)
    if by is not None:
        known_person(by, view.yard.people)
    tasks = list({task.id: task for task in (named(view.plan, text, view.problem.rules) for text in texts)}.values())
    confirmed = [_task_done(view, task, at, whole, amount) for task in tasks]
    open_ = [
        name for name in dict.fromkeys(link.task for task in tasks for link in task.links) if _is_open(view, name) and name not in {task.id for task in tasks}
    ]
    ledger.append([one.fact.model_copy(update={"by": by}) for one in confirmed], now)
    if open_:
        asked = f"Still open before it: {', '.join(open_)}. Were they done too? afterpull done {' '.join(open_)}"
        confirmed[-1] = Confirmation(f"{confirmed[-1].words}\n{asked}", confirmed[-1].fact)
    return confirmed


def done_of_hives(ledger: Ledger, view: LedgerView, text: str, hives: Sequence[str], at: int, now: int, by: str | None = None) -> list[Confirmation]:
    """Mark a treatment as begun, or as ended where it was begun, of some hives; it stays open for the rest."""
    _refuse_future(at, now, view.zone)
    if by is not None:
        known_person(by, view.yard.people)
    confirmed = [Confirmation(*one) for one in done_by_hive(view, text, hives, at)]
    ledger.append([one.fact.model_copy(update={"by": by}) for one in confirmed], now)
    return confirmed


def _is_open(view: LedgerView, name: str) -> bool:
    """Whether work of a task is still to come: one without hands, or whose hold was begun, needs no word."""
    return any(task.id == name and task.hands and task.is_open and name not in view.happened.begun for task in view.plan.tasks)


def _task_done(view: LedgerView, task: PlannedTask, at: int, whole: bool, amount: float | None) -> Confirmation:
    when = spoken(at, view.zone)
    if task.status == "done":
        raise Fault(f"{task.id} is done already", "afterpull undo, to take the last word back")
    for since, words in ((_pulled(task, view), "the supers came off"), (view.happened.begun.get(task.id), "it was begun")):
        if since is not None and at < since:
            raise Fault(f"{task.id}: {when} lies before {words}, {spoken(since, view.zone)}", "the time at which it was done, such as 2026-08-12T19:40")
    if amount is not None and amount < _left(task, amount):
        return Confirmation(f"{task.title}: {amount:g} done {when}, {task.left - amount:g} left", TaskDone(occurred_at=at, task=task.id, amount=amount))
    began = view.happened.begun.get(task.id)
    if task.hold_done is not None and not whole and began is None:
        hold = task.hold_done - task.holds_from
        words = f"{task.title}: begun {when}, holds until {spoken(ceil_to_minute(at) + hold, view.zone)}. When it is over: done again"
        return Confirmation(words, TaskBegun(occurred_at=at, task=task.id))
    early = task.hold_done - at if task.hold_done is not None and began is not None else 0
    warned = f"; its hold was to last until {spoken(task.hold_done or at, view.zone)}, so it may not have done its work" if early > 60 else ""
    return Confirmation(f"{task.title}: done {when}{warned}", TaskDone(occurred_at=at, task=task.id, started_at=began))


def _pulled(task: PlannedTask, view: LedgerView) -> int | None:
    """When the supers of a task's harvest came off; None for a task of the whole yard."""
    return next((int(pulled_at(one, view.zone).timestamp()) for one in view.harvests if one.harvest == task.harvest), None)


def _left(task: PlannedTask, amount: float) -> float:
    """How many units of a task are left. Raises `Fault` where it has none, or an amount can not be."""
    if not task.count:
        raise Fault(f"{task.id} is not counted in pieces, so it can not be done in part", f"afterpull done {task.id}, once all of it is done")
    if not 0 < amount <= task.left:
        raise Fault(f"{amount:g} can not be: {task.left:g} of {task.count:g} are left of {task.id}", f"a number up to {task.left:g}")
    return task.left


def _refuse_future(at: int, now: int, zone: ZoneInfo) -> None:
    """Refuse a report of a moment still to come."""
    if at > now:
        raise Fault(f"{spoken(at, zone)} is still to come; now it is {spoken(now, zone)}", "the time at which it happened")


def skip(ledger: Ledger, view: LedgerView, text: str, because: str, at: int, now: int) -> Confirmation:
    """Say that a task will not be done, and why."""
    _refuse_future(at, now, view.zone)
    task = named(view.plan, text, view.problem.rules)
    return _append(ledger, Confirmation(f"{task.title}: skipped, {because}", TaskSkipped(occurred_at=at, task=task.id, because=because)), now)


def put_off(ledger: Ledger, view: LedgerView, text: str, until: int, now: int) -> Confirmation:
    """Say that a task is not to start before a moment."""
    task = named(view.plan, text, view.problem.rules)
    became = task.status if task.status in ("done", "skipped") else "begun" if task.id in view.happened.begun else None
    if became:
        raise Fault(f"{task.id} is {became} already, so it can not be put off", "afterpull undo, if that was told last and is not so")
    if until <= now:
        raise Fault(f"{spoken(until, view.zone)} is over", "a time that is still to come, such as 2026-08-14T18:00")
    words = f"{task.title}: put off until {spoken(until, view.zone)}"
    return _append(ledger, Confirmation(words, TaskPutOff(occurred_at=now, task=task.id, until=until)), now)


def observe(ledger: Ledger, view: LedgerView, words: Sequence[str], of: str | None, on: date, at: int, now: int, active: str | None = None) -> Confirmation:
    """A mark of the season seen on a day ("first frost"), or a reading ("moisture", "17.8 %") of a lot or of equipment."""
    _refuse_future(at, now, view.zone)
    what = " ".join(" ".join(words).split())
    if what.lower().partition(" ")[0] == FOULBROOD:
        return _append(ledger, Confirmation(*foulbrood(view, what.lower().removeprefix(FOULBROOD).strip(), of, on, now)), now)
    if what.lower() in TREATMENT:
        moment = at if at != now else noticed_at(on, now, view)
        return _append(ledger, Confirmation(*treatment(view, TREATMENT[what.lower()], of, active, moment)), now)
    if active is not None:
        raise Fault("--with is of a treatment", f"observe treatment begins --of all --with {active!r}")
    mark = SYNONYMS.get(what.lower(), what.lower())
    _bloom_known(view, mark)
    if mark in MARKS_AND_EDGES or mark.startswith(BLOOM):
        if on > datetime.fromtimestamp(now, view.zone).date():
            raise Fault(f"{on} is still to come", "the day on which it was seen")
        return _append(ledger, Confirmation(f"{mark}: seen on {on}", Observed(occurred_at=at, mark=mark, on=on)), now)
    measure = next((name for name in sorted(READINGS, key=len, reverse=True) if what.lower().startswith(name + " ")), None)
    if measure is None:
        known = [*MARKS_AND_EDGES, *(f"{name} VALUE" for name in READINGS)]
        raise Fault(f'"{what}" is neither a mark of the season nor a reading with its value', instead(what.lower(), known))
    written = what[len(measure) :].strip()
    value = parse(re.sub(r"(?<=\d)\s*°?\s*([cf])$", lambda unit: f" °{unit[1].upper()}", written, flags=re.IGNORECASE), READINGS[measure][0])
    subject = _subject(view, measure, of)
    return _append(ledger, Confirmation(f"{measure} of {subject}: {written}", Reading(occurred_at=at, of=subject, what=measure, value=value)), now)


def release(ledger: Ledger, view: LedgerView, lot: str, because: str, now: int) -> Confirmation:
    """Let a lot go on that a stop holds back. Raises `Fault` where nothing stops it."""
    return _append(ledger, Confirmation(*let_go(view, lot, because, now)), now)


def _bloom_known(view: LedgerView, mark: str) -> None:
    """Raises `Fault` for the bloom of a plant of which the yard does not say what it is a mark of."""
    if view.yard.season.seen_as(mark) is None:
        plant, known = mark.removeprefix(BLOOM), list(view.yard.season.blooms)
        listed = f"{instead(plant, known)}, or " if known else ""
        cure = f'{listed}under season in the yard file "blooms: {{{plant}: spring bloom}}"'
        raise Fault(f'the yard file does not say what the bloom of "{plant}" is a mark of', cure)


def undo(ledger: Ledger, now: int) -> str | None:
    """Take back the last fact that stands; says which."""
    zone = view_at(ledger, now).zone_or_utc
    last = ledger.undo_last(now)
    if last is None:
        return None
    return f"Taken back: {last.fact.kind.replace('-', ' ')} {_about(last.fact)}, told of {spoken(last.fact.occurred_at, zone)}"


def _about(fact: Fact) -> str:
    """What a fact is about."""
    if isinstance(fact, Reading | SeriesRecorded):
        return f"{fact.what} of {fact.of}"
    return next((str(getattr(fact, name)) for name in ("task", "harvest", "mark", "hive", "lot", "name", "alert", "path") if hasattr(fact, name)), "")


def _subject(view: LedgerView, measure: str, of: str | None) -> str:
    """What a reading is of: a lot, a freezer, a room; where only one is possible it need not be said."""
    lots = [lot_path(harvest.harvest, lot.id) for harvest in view.harvests for lot in harvest.lots]
    if measure in ("moisture", "yeast", "comb temperature", "core temperature", "mass"):
        known = lots
    elif measure == "freezer temperature":
        known = list(view.yard.freezers)
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


def _append(ledger: Ledger, confirmation: Confirmation, now: int) -> Confirmation:
    ledger.append([confirmation.fact], now)
    return confirmation
