"""What a keeper reports of tasks: done, begun, skipped, put off; checked against the plan and against what was reported before. Writes nothing."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from typing import NamedTuple

from scheduler.application.hive_facts import counts_hives, done_by_hive, hives_left, of_their_apiary
from scheduler.application.ledger_view import LedgerView
from scheduler.application.lookup import any_task, by_code, cards_named, named, refuse_future, titles_of
from scheduler.application.refusals import NotPlanned, Remedied, Standing
from scheduler.application.yard_check import known_person
from scheduler.diagnostics import Fault, instead
from scheduler.facts.fact import Fact, TaskBegun, TaskDone, TaskPutOff, TaskSkipped
from scheduler.facts.harvest import pulled_at
from scheduler.local_time import ceil_to_minute, spoken
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.network import FROM_FINISH, OF_FINISH
from scheduler.planning.plan import Link, PlannedTask, checklists
from scheduler.planning.task_ids import current
from scheduler.quantities import elapsed, instant, parse, say
from scheduler.rules.schema import HIVE


class Confirmation(NamedTuple):
    """What is written down, in words, and the fact."""

    words: str
    fact: Fact


class Doubt(Fault):
    """What can be so, and is told only once the keeper says that it is."""


def done(
    view: LedgerView,
    texts: Sequence[str],
    at: int,
    *,
    whole: bool = False,
    again: bool = False,
    amount: float | None = None,
    worked: int | None = None,
    by: str | None = None,
    sure: bool = False,
) -> tuple[list[Confirmation], list[Fault]]:
    """
    What is to be written down of tasks that were done at one moment, and of which of them nothing is, and why. Nothing is written yet.

    A task need not be in the plan: what the keeper did is so, another way chosen or not. Raises `Fault` for an unknown person, or a moment still to come.
    """
    refuse_future(at, view.now, view.zone)
    if by is not None:
        known_person(by, view.yard.people)
    said: dict[str, Confirmation] = {}
    refused: list[Fault] = []
    for text in texts:
        try:
            task, begins = _task_done_by(view, text, at)
            if task.id not in said:
                told = _begun_again(view, task, at) if again else _in_part(view, task, at, amount, worked) or _task_done(view, task, begins, at, whole)
                if not sure:
                    _in_order(view, task, at, again)
                said[task.id] = told
        except Fault as fault:
            refused.append(fault)
    found = [one._replace(fact=one.fact.model_copy(update={"by": by})) for one in said.values()]
    open_ = [name for name in dict.fromkeys(link.task for name in said for link in _links(view, name)) if _is_open(view, name) and name not in said]
    if open_:
        asked = view.words(say("open before it", tasks=", ".join(open_), typed=" ".join(open_), titles=_titles(view, open_)))
        found[-1] = found[-1]._replace(words=f"{found[-1].words}\n{asked}")
    if lines := [line.id for line in lines_left(view, said)]:
        asked = view.words(say("done along with it", tasks=", ".join(lines), typed=" ".join(lines), titles=_titles(view, lines)))
        found[-1] = found[-1]._replace(words=f"{found[-1].words}\n{asked}")
    return found, refused


def lines_left(view: LedgerView, done: Collection[str]) -> list[PlannedTask]:
    """The open lines of the checklists of tasks that are done now, but for those that are too."""
    return [line for name in done for line in checklists(view.plan).get(name, ()) if line.id not in done]


def _titles(view: LedgerView, names: Sequence[str]) -> str:
    """What tasks are called."""
    return "; ".join(title_of(task) for task in view.plan.tasks if task.id in names)


def part_of(text: str | None) -> tuple[float | None, int | None]:
    """Units, or seconds of work, as typed: "6", "40min", "1 h". Raises `Fault` for what is neither."""
    if text is None:
        return None, None
    try:
        return float(text), None
    except ValueError:
        return None, ceil_to_minute(parse(re.sub(r"^([\d.]+)\s*([a-z]+)$", r"\1 \2", text.strip().lower()), "duration"))


def is_by_hive(view: LedgerView, text: str) -> bool:
    """Whether work is recorded for each hive, or counted in hives, so that a part of it is some of them."""
    return any(HIVE in card.card.for_ or counts_hives(card) for card in cards_named(view.rules, text))


def done_of_hives(view: LedgerView, text: str, hives: Sequence[str], at: int, by: str | None = None) -> list[Confirmation]:
    """What is to be written down of work at some hives, or of a treatment begun, or ended where it was begun; it stays open for the rest."""
    refuse_future(at, view.now, view.zone)
    text = by_code([task.id for task in view.plan.tasks], text, view.rules.renamed)
    if by is not None:
        known_person(by, view.yard.people)
    if any(HIVE in card.card.for_ for card in cards_named(view.rules, text)):
        return _each_of_hives(view, text, tuple(dict.fromkeys(hives)), at, by)
    confirmed = _at_hives(view, text, tuple(dict.fromkeys(hives)), at) or [Confirmation(*one) for one in done_by_hive(view, text, hives, at)]
    return [one._replace(fact=one.fact.model_copy(update={"by": by})) for one in confirmed]


def _each_of_hives(view: LedgerView, text: str, hives: Sequence[str], at: int, by: str | None) -> list[Confirmation]:
    """The tasks that a card for each hive has for some hives. Raises `Fault` for a hive for which it has none left."""
    keys = {card.key for card in cards_named(view.rules, text)}
    of = {task.hive: task.id for task in reversed(view.plan.tasks) if task.rule in keys and (task.is_open or task.status == "lapsed")}
    for hive in hives:
        if hive not in of:
            raise NotPlanned(f"{text} is not open of the hive {hive}", instead(hive, list(of)) if of else "")
    said, refused = done(view, [of[hive] for hive in hives], at, by=by)
    if refused:
        raise refused[0]
    return said


def _at_hives(view: LedgerView, text: str, hives: tuple[str, ...], at: int) -> list[Confirmation]:
    """Work that is counted in hives, done at some of them; nothing where it is not so counted."""
    if not any(counts_hives(card) for card in cards_named(view.rules, text)):
        return []
    task, _ = _task_done_by(view, of_their_apiary(view, text, hives), at)
    left = [hive for hive in hives_left(view, task.id, hives) if hive not in hives]
    _not_before(view, task, at, None)
    if not left or len(hives) >= task.left:
        told = _task_done(view, task, False, at, False)
        return [told._replace(fact=told.fact.model_copy(update={"hives": hives}))]
    says = say("done of hives", title=task.title, hives=", ".join(hives), at=instant(at), left=", ".join(left))
    return [Confirmation(view.words(says), TaskDone(occurred_at=at, task=task.id, amount=len(hives), hives=hives))]


def _links(view: LedgerView, name: str) -> tuple[Link, ...]:
    """What a task waits for by its card; the order in which loads take turns in a freezer is the plan's choice, and hands may take another."""
    return next((tuple(link for link in task.links if not link.apart) for task in view.plan.tasks if task.id == name), ())


def _is_open(view: LedgerView, name: str) -> bool:
    """Whether work of a task is still to come: one without hands, or whose hold was begun, needs no word."""
    return any(task.id == name and task.hands and task.is_open and name not in view.happened.begun for task in view.plan.tasks)


def _task_done_by(view: LedgerView, text: str, at: int) -> tuple[PlannedTask, bool]:
    """The task that was meant, and whether its hold begins; one that the plan does not hold as what it is once it was begun, or done."""
    name = any_task(view, text)
    task = next((task for task in view.plan.tasks if task.id == name), None)
    if task is not None and (task.is_open or task.status == "done"):
        return task, task.hold_done is not None and name not in view.happened.begun
    for fact in (TaskBegun(occurred_at=at, task=name), TaskDone(occurred_at=at, task=name)):
        begins = isinstance(fact, TaskBegun)
        found = next((task for task in view.supposing(fact).plan.tasks if task.id == name), None)
        if found is not None and (found.status == "done" or (begins and found.is_open and found.hold_done is not None)):
            return found, begins and found.status != "done"  # begun and without a hold it would be over
    raise NotPlanned(f'"{text}" has no place in the plan')


def _in_part(view: LedgerView, task: PlannedTask, at: int, amount: float | None, worked: int | None) -> Confirmation | None:
    """Part of a task, in units or in time; None where that is all there is left of it, or no part was told. Raises `Fault` for what cannot be."""
    if amount is None and worked is None:
        return None
    if not task.is_open or task.id in view.happened.begun:
        told = f"{task.id} is {'begun' if task.is_open else task.status} already, so no part of it is left"
        raise Remedied(told, f"afterpull done {task.id}", task=task.id)
    _not_before(view, task, at, None)
    if worked is not None:
        before = sum(end - start for start, end in task.sittings)
        if worked >= before:
            return None
        says = say("worked on", title=task.title, worked=elapsed(worked), at=instant(at), left=elapsed(before - worked))
        return Confirmation(view.words(says), TaskDone(occurred_at=at, task=task.id, worked=worked))
    if amount is None or amount >= _left(task, amount):
        return None
    says = say("task done in part", title=task.title, amount=amount, at=instant(at), left=task.left - amount)
    return Confirmation(view.words(says), TaskDone(occurred_at=at, task=task.id, amount=amount))


def _task_done(view: LedgerView, task: PlannedTask, begins: bool, at: int, whole: bool) -> Confirmation:
    began = view.happened.begun.get(task.id)
    if task.id in view.happened.done:
        raise Standing(f"{task.id} is done already, {spoken(view.happened.done[task.id][1], view.zone)}", task.id)
    _not_before(view, task, at, began)
    if begins and not whole:
        return _begun(view, task, at, TaskBegun(occurred_at=at, task=task.id))
    until = task.hold_done if began is not None else None
    if until is not None and at < until and not whole:
        write = f"--whole --at T if it is over, --again --at T if it began at another time than {spoken(began or at, view.zone)}"
        page = "Is it over all the same, or did it begin at another time? Say so there."
        raise Remedied(f"{task.id} holds until {spoken(until, view.zone)}", write, page=page, task=task.id)
    doubt = (say("hold not over", until=instant(until)),) if until is not None and at < until else ()
    says = say("task done", title=task.title, at=instant(at), doubt=doubt)
    return Confirmation(view.words(says), TaskDone(occurred_at=at, task=task.id, started_at=began))


def _not_before(view: LedgerView, task: PlannedTask, at: int, began: int | None) -> None:
    """Raises `Fault` for work before the pull, or before the task was begun."""
    for since, words in ((_pulled(task, view), "the supers came off"), (began, "it was begun")):
        if since is not None and at < since:
            message = f"{task.id}: {spoken(at, view.zone)} lies before {words}, {spoken(since, view.zone)}"
            raise Fault(message, "the time at which it was done, such as 2026-08-12T19:40")


def _begun(view: LedgerView, task: PlannedTask, at: int, fact: TaskBegun) -> Confirmation:
    until = ceil_to_minute(at) + (task.hold_done or 0) - task.holds_from
    return Confirmation(view.words(say("task begun", title=task.title, at=instant(at), until=instant(until))), fact)


def _begun_again(view: LedgerView, task: PlannedTask, at: int) -> Confirmation:
    """The beginning of a hold that runs, corrected."""
    told = [one for one in view.facts if isinstance(one.fact, TaskBegun) and current(one.fact.task, view.rules.renamed) == task.id]
    if not told or not task.is_open:
        state = f"is {task.status} already" if task.status in ("done", "skipped") else "was not begun"
        write = f"afterpull undo {task.id}" if task.status == "done" else f"afterpull done {task.id}"
        raise Remedied(f"{task.id} {state}, so no beginning is corrected", write, task=task.id)
    last = max(told, key=lambda one: one.sequence)
    return _begun(view, task, at, TaskBegun(occurred_at=at, task=task.id, replaces=last.id))


def _in_order(view: LedgerView, task: PlannedTask, at: int, again: bool) -> None:
    """Raises `Doubt` where a task would have been done before what it follows."""
    happened, titles = view.happened, titles_of(view.plan)
    if task.id in happened.begun and not again:
        return  # its beginning was looked at when it was told
    for link in _links(view, task.id):
        since = happened.done[link.task][1] if link.task in happened.done and link.kind in FROM_FINISH else happened.begun.get(link.task)
        if since is not None and at < since and link.kind not in OF_FINISH:
            name = titles.get(task.id, task.id) if view.page is not None else task.id
            words = f"{name}: {spoken(at, view.zone)} lies before this was done: {titles.get(link.task, link.task)}, {spoken(since, view.zone)}"
            raise Doubt(words, "the time at which it was done, or --yes if it was so all the same")


def _pulled(task: PlannedTask, view: LedgerView) -> int | None:
    """When the supers of a task's harvest came off; None for a task of the whole yard, for what comes before that, and while nobody told of it."""
    if task.harvest in view.ahead or view.rules.by_key[task.rule].is_before_pull:
        return None
    return next((int(pulled_at(one, view.zone).timestamp()) for one in view.harvests if one.harvest == task.harvest), None)


def _left(task: PlannedTask, amount: float) -> float:
    """How many units of a task are left. Raises `Fault` where it has none, or an amount cannot be."""
    if not task.count:
        write, page = f"afterpull done {task.id} --amount 40min, for so much work on it", "Write: 40min, for so much work on it"
        raise Remedied(f"{task.id} is not counted in pieces", write, page=page, task=task.id)
    if not 0 < amount <= task.left:
        raise Fault(f"{amount:g} cannot be: {task.left:g} of {task.count:g} are left of {task.id}", f"a number up to {task.left:g}")
    return task.left


def skip(view: LedgerView, texts: Sequence[str], because: str, at: int) -> tuple[list[Confirmation], list[Fault]]:
    """What is to be written down of tasks that will not be done; and of which nothing is, and why."""
    return _each(texts, lambda text: _skipped(view, named(view.plan, text, view.rules), because, at))


def _skipped(view: LedgerView, task: PlannedTask, because: str, at: int) -> Confirmation:
    if task.status == "done":
        raise Standing(f"{task.id} is done already, so it is not skipped", task.id)
    return Confirmation(view.words(say("task skipped", title=task.title, because=because)), TaskSkipped(occurred_at=at, task=task.id, because=because))


def _each(texts: Sequence[str], tell: Callable[[str], Confirmation]) -> tuple[list[Confirmation], list[Fault]]:
    said, refused = [], []
    for text in dict.fromkeys(texts):
        try:
            said.append(tell(text))
        except Fault as fault:
            refused.append(fault)
    return said, refused


def put_off(view: LedgerView, texts: Sequence[str], until: int) -> tuple[list[Confirmation], list[Fault]]:
    """What is to be written down of tasks that are not to start before a moment; and of which nothing is, and why."""
    if until <= view.now:
        raise Fault(f"{spoken(until, view.zone)} is over", "a time that is still to come, such as 2026-08-14T18:00")
    return _each(texts, lambda text: _put_off(view, named(view.plan, text, view.rules), until))


def _put_off(view: LedgerView, task: PlannedTask, until: int) -> Confirmation:
    became = task.status if task.status in ("done", "skipped") else "begun" if task.id in view.happened.begun else None
    if became:
        raise Standing(f"{task.id} is {became} already, so it cannot be put off", task.id)
    return Confirmation(view.words(say("task put off", title=task.title, until=instant(until))), TaskPutOff(occurred_at=view.now, task=task.id, until=until))
