"""Drafts as a network: the problem of a schedule, made of what can be done and of what happened."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.facts.people import taker
from scheduler.planning.context import daily_loads, reservations
from scheduler.planning.draft import Draft, Happened, Pull, Subject
from scheduler.planning.network import FROM_FINISH, HOUSE, Network, Precedence, Task
from scheduler.planning.plan import Link
from scheduler.planning.problem import Problem
from scheduler.planning.windows import OpenWhen, Windows


def network_of(drafts: Sequence[Draft], problem: Problem, windows: Windows, pulls: Sequence[Pull] = ()) -> Network:
    """The drafts that can be done, as a problem for the schedule: seconds since 1970, SI amounts."""
    usable = {draft.id: draft for draft in drafts if draft.has_time}
    tasks = tuple(_task(draft, problem, windows) for draft in usable.values())
    relations = tuple(
        Precedence(link.task, draft.id, link.kind, link.least, _still(link, usable[link.task]), link.early)
        for draft in usable.values()
        if draft.begun is None
        for link in draft.links
        if link.task in usable
    )
    relations += tuple(_in_turn(usable.values()))
    by_hours = {draft.there for draft in usable.values()}  # work that takes it whole lies in its hours, and may be divided between two of them
    taken = (*reservations(problem.yard, problem.zone), *(one for one in windows.away if one[0] not in by_hours))
    travel = {name: problem.yard.travel(name) for name in problem.yard.apiaries}
    return Network(tasks, relations, _capacities(problem), taken, windows.calendars, daily_loads(problem.yard), travel, tuple(_present(drafts, problem, pulls)))


def _present(drafts: Iterable[Draft], problem: Problem, pulls: Sequence[Pull]) -> Iterator[tuple[str, str, int]]:
    """Where everybody is as the plan begins: at the apiary of their last work, while they cannot be back from it, else at the house.

    Their last work is what was recorded last, or what the plan in force has them at; whoever takes the pull did it, else the keeper.
    """
    if not problem.yard.apiaries:
        return
    last: dict[str, tuple[int, str]] = {}
    for whose, at, place in (*_so_far(drafts, problem), *_pulled(problem, pulls)):
        last[whose] = max(last.get(whose, (0, HOUSE)), (at, place))
    for whose in ("", *problem.yard.people):
        at, place = last.get(whose, (0, HOUSE))
        there = place != HOUSE and problem.as_of - at <= problem.yard.travel(place)
        yield (whose, place, at) if there else (whose, HOUSE, problem.as_of)


def _so_far(drafts: Iterable[Draft], problem: Problem) -> Iterator[tuple[str, int, str]]:
    """When and where each piece of work up to now was last worked on, and whose."""
    happened, kept = problem.happened, problem.in_force.tasks if problem.in_force else {}
    for draft in drafts:
        whose, place = draft.person or "", draft.at or HOUSE
        if draft.id in happened.done and draft.asked is None:
            yield whose, min(happened.done[draft.id][1], problem.as_of), place
        elif draft.begun is not None:
            yield whose, min(draft.begun, problem.as_of), place
        elif draft.id in kept and draft.id not in happened.skipped:
            spans = (*kept[draft.id].sittings, *kept[draft.id].end_sittings)
            yield from ((whose, min(end, problem.as_of), place) for start, end in spans if start < problem.as_of)


def _pulled(problem: Problem, pulls: Sequence[Pull]) -> Iterator[tuple[str, int, str]]:
    """When and where each pull up to now was, and whose."""
    cards = [card for card in problem.rules.cards if card.card.pulls]
    for pull in pulls:
        if pull.apiary is not None and pull.harvest.harvest not in problem.ahead and pull.pulled <= problem.as_of:
            words = [word for card in cards for word in (card.key, card.name, card.set, pull.apiary, card.card.place)]
            taken = taker(problem.yard.people, words)
            yield taken[0] if taken else "", pull.pulled, pull.apiary


def calendar_of(draft: Draft, open_when: tuple[OpenWhen, ...], windows: Windows) -> str | None:
    """The key of the calendar in which work of a draft may lie; None means any hour."""
    return windows.of(draft.at).calendar(open_when, draft.hours, draft.person, draft.there, together=draft.together)


def _capacities(problem: Problem) -> Mapping[str, float]:
    """What each named piece of equipment holds (SI)."""
    return {name: one.capacity for name, one in problem.yard.equipment.items() if one.capacity is not None}


def _task(draft: Draft, problem: Problem, windows: Windows) -> Task:
    happened = problem.happened
    fixed = _as_done(draft, happened)
    if fixed is None and draft.id in happened.skipped:
        at = happened.skipped[draft.id][0]
        fixed = (at, at)
    if fixed is None and draft.begun is not None and not draft.end:
        fixed = (draft.release, draft.begun + min(mode.hold for mode in draft.modes))  # nothing is left that could lie otherwise
    return Task(
        id=draft.id,
        begin=draft.begin,
        end=draft.end,
        modes=draft.modes,
        release=draft.release,
        due=draft.due,
        deadline=draft.deadline,
        loss=draft.card.card.loss,
        begin_calendar=calendar_of(draft, draft.open_begin, windows) if draft.begun is None and (draft.begin or draft.open_begin) else None,
        end_calendar=calendar_of(draft, draft.open_end, windows) if draft.end else None,
        fixed=fixed,
        begun=draft.begun is not None and fixed is None,
        worked=draft.worked,
        end_release=problem.as_of if draft.begun is not None else 0,
        hands=draft.person or "",
        joined_by="" if draft.together else None,
        place=draft.at or HOUSE,
    )


def _as_done(draft: Draft, happened: Happened) -> tuple[int, int] | None:
    """Start and finish of what was done; it began with its hands, as it was planned, where only the end of these was told."""
    done = happened.done.get(draft.id)
    if done is None:
        return None
    start, finish = done
    if draft.begun is not None:
        start = min(start, draft.release)
    elif start == finish and not any(mode.hold for mode in draft.modes):
        start -= draft.begin
    return start, finish


def _in_turn(drafts: Iterable[Draft]) -> Iterator[Precedence]:
    """The batches of a lot begin in the order of their numbers: those of a size are all the same, and a keeper looks for the first one first."""
    last: dict[tuple[str, Subject], Draft] = {}
    for draft in drafts:
        if draft.batch is None or draft.repetition or draft.begun is not None:
            continue
        before = last.get((draft.card.key, draft.subject))
        if before is not None:
            yield Precedence(before.id, draft.id, "start to start")
        last[draft.card.key, draft.subject] = draft


def _still(link: Link, before: Draft) -> int | None:
    """The greatest lag of a link: of a task that was begun only its end can still wait, so a lag from its start is past changing."""
    return link.greatest if before.begun is None or (before.end and link.kind in FROM_FINISH) else None
