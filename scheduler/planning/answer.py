"""From drafts and times to what a person is told: tasks with their reasons, and warnings that say by how much and what would cure it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import tzinfo

from scheduler.planning.drafts import Draft, Happened, local
from scheduler.planning.network import Network, Placement
from scheduler.planning.plan import Link, Plan, PlannedTask, Reason, Status, Told, Warning
from scheduler.planning.problem import Problem
from scheduler.quantities import show_duration


def answer(
    problem: Problem,
    drafts: Sequence[Draft],
    network: Network,
    placed: Mapping[str, Placement],
    warnings: Sequence[Warning],
    cures: Mapping[str, Sequence[str]],
) -> Plan:
    """The plan; its tasks in order of start, then id, its warnings in order of kind as they bite."""
    yard, happened, zone = problem.yard, problem.happened, problem.zone
    firm = _provisional(drafts)
    titles = {draft.id: draft.title for draft in drafts}
    tasks = [_task(draft, placed.get(draft.id), placed, firm, happened, titles, zone) for draft in drafts]
    tasks.sort(key=lambda task: (task.start, task.id))
    found = [*_refused(drafts), *_late(drafts, placed, problem, cures), *_lags(network, placed, titles), *warnings]
    return Plan(yard.yard, yard.place.timezone, yard.units, problem.as_of, tuple(tasks), tuple(found))


def _provisional(drafts: Sequence[Draft]) -> Mapping[str, str]:
    """Why a task's date is not firm, by id; what follows a provisional date is provisional too."""
    reasons = {draft.id: draft.provisional for draft in drafts if draft.provisional}
    titles = {draft.id: draft.title for draft in drafts}
    changed = True
    while changed:
        changed = False
        for draft in drafts:
            if draft.id not in reasons and (cause := next((link.task for link in draft.links if link.task in reasons), None)):
                reasons[draft.id] = f'follows "{titles[cause]}", whose date is not firm'
                changed = True
    return reasons


def _task(
    draft: Draft, at: Placement | None, placed: Mapping[str, Placement], firm: Mapping[str, str], happened: Happened, titles: Mapping[str, str], zone: tzinfo
) -> PlannedTask:
    status, start, hold_done, finish = _times(draft, at, placed, firm, happened)
    mode = draft.modes[at.mode if at else 0]
    reasons = list(draft.reasons)
    if at is not None and status in ("planned", "provisional"):
        reasons += _bound(draft, at, titles, placed, zone)
    if status == "provisional":
        reasons.append(Reason("provisional", f"provisional: {firm[draft.id]}"))
    if draft.refusal:
        reasons.append(Reason("impossible", draft.refusal))
    if draft.id in happened.skipped:
        reasons.append(Reason("skipped", f"skipped: {happened.skipped[draft.id][1]}"))
    return PlannedTask(
        id=draft.id,
        rule=draft.card.key,
        title=draft.title,
        stream=draft.stream,
        harvest=draft.subject.harvest or "",
        lot=draft.subject.lot,
        batch=draft.batch,
        status=status,
        start=start,
        hold_done=hold_done,
        finish=finish,
        due=min((moment for moment in (draft.due, draft.deadline) if moment is not None), default=None),
        links=tuple(Link(link.task, link.kind, link.least, link.greatest) for link in draft.links),
        occupies=mode.demands,
        hands=(*at.sittings, *at.end_sittings) if at is not None and status in ("planned", "provisional") else (),
        alerts=tuple(_alerts(draft, start, hold_done, finish)) if status in ("planned", "provisional") else (),
        reasons=tuple(reasons),
        cautions=draft.cautions,
        loss=draft.card.card.loss,
    )


def _times(
    draft: Draft, at: Placement | None, placed: Mapping[str, Placement], firm: Mapping[str, str], happened: Happened
) -> tuple[Status, int, int | None, int]:
    if at is None:
        start = max([draft.release, *(placed[link.task].finish + link.least for link in draft.links if link.task in placed)])
        return "impossible", start, None, start
    status: Status = "done" if draft.id in happened.done else "skipped" if draft.id in happened.skipped else "provisional" if draft.id in firm else "planned"
    return status, at.start, at.hold_done if draft.modes[at.mode].hold else None, at.finish


def _alerts(draft: Draft, start: int, hold_done: int | None, finish: int) -> Iterator[Told]:
    moments = {"start": start, "hold done": hold_done if hold_done is not None else finish, "finish": finish, "due": draft.due or draft.deadline or finish}
    yield from (Told(moments[at] - before, say) for at, before, say in draft.alerts)


def _bound(draft: Draft, at: Placement, titles: Mapping[str, str], placed: Mapping[str, Placement], zone: tzinfo) -> Iterator[Reason]:
    """What kept the task from being earlier."""
    kind, name = at.bound_by
    if kind == "after":
        yield Reason(f"after {name.rpartition('/')[2]}", f'starts once "{titles[name]}" allows it ({local(placed[name].finish, zone)})')
    elif kind == "hands":
        yield Reason("hands", f"waits for free hands in its window: {local(at.start, zone)}")
    elif kind == "resource":
        yield Reason(f"resource {name}", f"waits until the {name} has room: {local(at.start, zone)}")
    elif kind == "greatest lag":
        yield Reason("greatest lag", "starts later so that what follows it is not kept waiting too long")


def _refused(drafts: Sequence[Draft]) -> Iterator[Warning]:
    for draft in drafts:
        if draft.refusal and not draft.refusal.startswith("it waits for"):
            yield Warning("cannot be done", draft.id, f"{draft.title}: {draft.refusal}")


def _late(drafts: Sequence[Draft], placed: Mapping[str, Placement], problem: Problem, cures: Mapping[str, Sequence[str]]) -> Iterator[Warning]:
    happened, zone = problem.happened, problem.zone
    for draft in drafts:
        at = placed.get(draft.id)
        if draft.refusal or draft.id in happened.done or draft.id in happened.skipped:
            continue
        if at is None:
            yield Warning(
                "no time", draft.id, f"{draft.title}: no time fits its windows and the free hours; write more hours under hands, or do it another way"
            )
            continue
        for kind, limit in (("deadline missed", draft.deadline), ("due date missed", draft.due)):
            if limit is not None and at.finish > limit:
                told = f"{draft.title}: by {local(limit, zone)}, planned for {local(at.finish, zone)}, {show_duration(at.finish - limit)} late"
                yield Warning(kind, draft.id, f"{told}. {_cure(limit, problem.as_of, cures.get(draft.id, ()))}")
                break


def _cure(limit: int, as_of: int, cures: Sequence[str]) -> str:
    if limit <= as_of:
        return "It was due before this plan begins: do it first, or say when it was done."
    if not cures:
        return "No single change cures it: neither more room, nor one more free day."
    return f"What would cure it: {', or '.join(cures)}."


def _lags(network: Network, placed: Mapping[str, Placement], titles: Mapping[str, str]) -> Iterator[Warning]:
    for relation in network.precedences:
        if relation.greatest is None or relation.before not in placed or relation.after not in placed:
            continue
        over = relation.lag(placed) - relation.greatest
        if over > 0:
            limit = f'within {show_duration(relation.greatest)} of "{titles[relation.before]}"'
            yield Warning("waits too long", relation.after, f"{titles[relation.after]}: {limit}, planned {show_duration(over)} later than that")
