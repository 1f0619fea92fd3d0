"""From drafts and times to what a person is told: tasks with their reasons, and warnings that say by how much and what would cure it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from scheduler.local_time import HOUR
from scheduler.planning.breaches import shortfalls
from scheduler.planning.draft import Draft
from scheduler.planning.freezer_warnings import warm_for
from scheduler.planning.network import Network, Placement
from scheduler.planning.plan import OPEN, Plan, PlannedTask, Reason, Stopped, Told, Warning
from scheduler.planning.problem import Problem
from scheduler.planning.task_ids import last_part
from scheduler.quantities import Statement, Words, elapsed, instant, say
from scheduler.rules.schema import Status, handled

ABOUT_THE_SUN = 3 * HOUR  # s about dawn or dusk that tie work to the sun; a longer window is the day, or the evening (assumed)


def answer(
    problem: Problem,
    drafts: Sequence[Draft],
    network: Network,
    placed: Mapping[str, Placement],
    warnings: Sequence[Warning],
    cures: Mapping[str, Sequence[Statement]] | None,
    stops: Sequence[Stopped] = (),
) -> Plan:
    """The plan; its tasks in order of start, then id, its warnings in order of kind as they bite."""
    answering = _Answering(problem, drafts, placed)
    tasks = sorted((answering.task(draft) for draft in drafts), key=lambda task: (task.start, task.id))
    found = (*shortfalls(problem, drafts, network, placed, cures), *warnings)
    return Plan(problem.yard.yard, problem.yard.place.timezone, problem.yard.units, problem.as_of, tuple(tasks), found, tuple(stops), problem.yard.quiet)


def _provisional(drafts: Sequence[Draft]) -> Mapping[str, Statement]:
    """Why a task's date is not firm, by id; what follows a provisional date is provisional too, but for the order in a freezer."""
    reasons = {draft.id: draft.provisional for draft in drafts if draft.provisional}
    titles = {draft.id: draft.title for draft in drafts}
    changed = True
    while changed:
        changed = False
        for draft in drafts:
            if draft.id not in reasons and (cause := next((link.task for link in draft.links if link.task in reasons and not link.apart), None)):
                reasons[draft.id] = say("follows the provisional", before=titles[cause])
                changed = True
    return reasons


def _beginning_visits(problem: Problem, drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> frozenset[str]:
    """The tasks that begin a visit to an apiary: whoever does them was elsewhere before, or had the time to be."""
    found: set[str] = set()
    last: dict[str, tuple[str | None, int]] = {}
    work = [
        (whose, *span, draft.at, draft.id)
        for draft in drafts
        if (at := placed.get(draft.id))
        for whose in (draft.person or "", *([""] if draft.together else []))
        for span in (*at.sittings, *at.end_sittings)
    ]
    for whose, start, end, place, name in sorted(work, key=lambda one: one[:3]):
        before, over = last.get(whose, (None, 0))
        if place is not None and (before != place or start - over >= 2 * problem.yard.travel(place)):
            found.add(name)
        last[whose] = (place, end)
    return frozenset(found)


class _Answering:
    """Tasks of one plan, from their drafts and placements."""

    def __init__(self, problem: Problem, drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> None:
        self.problem, self.placed = problem, placed
        self.drafts = {draft.id: draft for draft in drafts}
        self.titles = {draft.id: draft.title for draft in drafts}
        self.unfirm = _provisional(drafts)
        self.visits = _beginning_visits(problem, drafts, placed) if problem.yard.apiaries else frozenset()

    def task(self, draft: Draft) -> PlannedTask:
        """The task of a draft, with what bound it."""
        at = self.placed.get(draft.id)
        status, start, hold_done, finish = self._times(draft, at)
        open_ = status in OPEN
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
            links=tuple(draft.links),
            occupies=draft.modes[at.mode if at else 0].demands,
            hands=(*at.sittings, *at.end_sittings) if at is not None and open_ else (),
            alerts=tuple(self._alerts(draft, start, hold_done, finish, at is not None and _spaced(draft, at))) if open_ else (),
            reasons=tuple(dict.fromkeys(self._reasons(draft, at, status))),
            cautions=draft.cautions,
            loss=draft.card.card.loss,
            place=draft.place,
            way=self.problem.yard.travel(draft.at),
            person=draft.person,
            together=draft.together,
            count=draft.count,
            left=max(0.0, draft.count - self.problem.happened.partly.get(draft.id, 0.0)),
            held_by=draft.held if draft.alongside is None or draft.held else self.drafts[draft.alongside].held,
            alongside=draft.alongside,
            begun=draft.begun is not None and status in OPEN,
            worked=draft.worked,
            release=draft.release,
            work=draft.work,
            closing_name=draft.closing[0],
            closing_title=draft.closing[1],
            handles=handled(draft.card.card),
            sun_tied=sun_tied(draft),
            all_day=draft.card.card.all_day,
            how=draft.how,
            by=draft.by,
            lies=self._lies(draft, at) if open_ else "",
            briefs=draft.briefs,
            hive=draft.hive,
        )

    def _reasons(self, draft: Draft, at: Placement | None, status: Status) -> Iterator[Reason]:
        yield from draft.reasons[:1]
        yield from draft.holds[at.mode if at else 0]
        yield from draft.reasons[1:]
        if at is not None and status in OPEN:
            yield from self._bound(draft, at)
        if draft.alongside is not None:
            yield Reason("alongside", say("alongside", step=self.titles[draft.alongside]))
        if status == "provisional":
            yield Reason("provisional", say("provisional", because=self.unfirm[draft.id if draft.id in self.unfirm else draft.alongside or ""]))
        if draft.refusal:
            yield Reason("impossible", draft.refusal)
        if draft.held:
            yield Reason("held back", say("held back", by=draft.held))
        if draft.lapsed is not None:
            yield Reason("lapsed", say("overtaken", by=draft.overtaken_by) if draft.overtaken_by else say("lapsed"))
        if draft.asked is not None:
            yield Reason("unanswered", say("planned then", start=instant(draft.asked[0]), finish=instant(draft.asked[1])))
        if status == "skipped":
            yield Reason("skipped", say("skipped", because=self.problem.happened.skipped[draft.id][1]))

    def _lies(self, draft: Draft, at: Placement | None) -> Words:
        """In which freezer or on which rack, where the yard has several of the kind, and how its packages lie there."""
        if at is None:
            return ""
        yard = self.problem.yard
        several = " and ".join(name for name, _ in draft.modes[at.mode].demands if len(yard.of_kind(yard.kinds[name])) > 1)
        if not _spaced(draft, at):
            return say("lies in", resource=several) if several else ""
        return say("lies spaced in", resource=several) if several else say("lies spaced")

    def _times(self, draft: Draft, at: Placement | None) -> tuple[Status, int, int | None, int]:
        if draft.alongside is not None:
            return self._line(draft, self.drafts[draft.alongside])
        if draft.lapsed is not None:
            return "lapsed", draft.lapsed, None, draft.lapsed
        if draft.asked is not None:
            return "lapsed", draft.asked[0], None, draft.asked[1]
        if at is None:
            start = max([draft.release, *(self.placed[link.task].finish + link.least for link in draft.links if link.task in self.placed)])
            return "held back" if draft.held else "impossible", start, None, start
        happened = self.problem.happened
        status: Status = "provisional" if draft.id in self.unfirm else "planned"
        if draft.id in happened.done:
            return "done", happened.done[draft.id][0], at.hold_done if draft.modes[at.mode].hold else None, at.finish
        if draft.id in happened.skipped:
            status = "skipped"
        return status, at.start, at.hold_done if draft.modes[at.mode].hold else None, at.finish

    def _line(self, line: Draft, step: Draft) -> tuple[Status, int, int | None, int]:
        """A line of a checklist is worked on with its step; once that is over without a word of it, it has lapsed."""
        happened, at = self.problem.happened, self.placed.get(step.id)
        if line.id in happened.done:
            return "done", happened.done[line.id][0], None, happened.done[line.id][1]
        if line.id in happened.skipped:
            return "skipped", happened.skipped[line.id][0], None, happened.skipped[line.id][0]
        status, start, _, finish = self._times(step, at)
        if line.held:
            status = "held back"
        over = at.sittings[-1][1] if at is not None and at.sittings else finish
        return "lapsed" if status in ("done", "skipped") else status, start, None, over

    def _alerts(self, draft: Draft, start: int, hold_done: int | None, finish: int, spaced: bool) -> Iterator[Told]:
        """What is told and when; of work that begins a visit a way off, when it is time to leave for it."""
        moments = {"start": start, "hold done": hold_done if hold_done is not None else finish, "finish": finish, "due": draft.due or draft.deadline or finish}
        way = self.problem.yard.travel(draft.at) if draft.id in self.visits else 0
        if start - way < self.problem.as_of:
            way = 0  # who is there already has no way before them
        warm = warm_for(draft, self.placed.get(draft.id)) if draft.begun is not None else None
        for at, before, words in draft.alerts:
            says: Words = say("spaced", text=words) if spaced and at == "start" else words
            if warm is not None and at == "hold done":
                says = say("held longer", text=says, warm=warm)
            if way and at == "start":
                yield Told(start - before - way, say("leave for", place=draft.place, way=elapsed(way), text=says))
            else:
                yield Told(moments[at] - before, says)

    def _bound(self, draft: Draft, at: Placement) -> Iterator[Reason]:
        """What kept a task from being earlier."""
        kind, name = at.bound_by
        start = instant(at.start)
        if kind == "after":
            finish = instant(self.placed[name].finish)
            yield Reason(f"after {last_part(name)}", say("starts after", before=self.titles[name], finish=finish))
        elif kind in ("hands", "window") and draft.there:
            yield Reason(f"resource {draft.there}", say("waits for equipment", resource=draft.there, start=start))
        elif kind == "hands":
            says = say("waits for hands of", person=draft.person, start=start) if draft.person else say("waits for hands", start=start)
            yield Reason("hands", says)
        elif kind == "window":
            yield Reason("window", say("waits for its window", start=start))
        elif kind == "resource":
            there = self.problem.yard.equipment[name].available is None
            says = say("waits for room", resource=name, start=start) if there else say("waits for equipment", resource=name, start=start)
            yield Reason(f"resource {name}", says)
        elif kind == "in one go":
            yield Reason("in one go", say("in one go", start=start))
        elif kind == "in force":
            yield Reason("in force", say("stays where it was", start=start))
        elif kind == "greatest lag":
            yield Reason("greatest lag", say("starts late for what follows"))


def sun_tied(draft: Draft) -> bool:
    """Whether each of its windows hangs on the sun, and one of them lies close about dawn or dusk; a window as long as the day does not."""
    spans = [one.sun[2] - one.sun[1] if one.sun else None for one in draft.open_begin]
    return bool(spans) and None not in spans and min(span for span in spans if span is not None) <= ABOUT_THE_SUN


def _spaced(draft: Draft, at: Placement) -> bool:
    """Whether its hold counts on air between the packages."""
    basis = (one for reason in draft.holds[at.mode] if reason.says.kind == "estimated" for one in reason.says.get("basis"))
    return any(one.kind == "pieces apart" for one in basis)
