"""The entries of a plan before they become bytes: one for each hands-on phase, and one for each hold where holds are wanted."""

from collections.abc import Collection, Iterator, Mapping, MutableMapping
from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import blake2b
from typing import Any, Literal, NamedTuple

from scheduler.local_time import local, moment_text
from scheduler.outputs.calendar.uids import Phase, alarm_uid, entry_uid, read_alarm_uid, with_task
from scheduler.outputs.plain_text import one_line, paragraphs
from scheduler.outputs.wording.sentence import in_words, lead_in, reader_of, title_of, words_of
from scheduler.planning.network import FROM_FINISH, OF_FINISH
from scheduler.planning.plan import Link, Plan, PlannedTask
from scheduler.quantities import show_duration

PRIORITY = {"food safety": 1, "colony": 2, "crop": 3, "comfort": 7}  # RFC 5545 section 3.8.1.9: 1 is highest, 9 lowest
_MINUTE = 60


class Alarm(NamedTuple):
    """A display alarm `offset` seconds after the start ("START") or the end ("END") of its entry; `acknowledged` is when it was dismissed [epoch s]."""

    uid: str
    offset: int
    related: str
    say: str
    acknowledged: int | None = None


class Relation(NamedTuple):
    """This entry waits for another: RFC 9253 relation type and gap [s]."""

    uid: str
    kind: str
    gap: int


@dataclass(frozen=True)
class Entry:
    """One VEVENT or VTODO before it becomes bytes. Times are epoch seconds."""

    uid: str
    kind: Literal["event", "todo"]
    start: int
    end: int
    timezone: str
    summary: str
    description: str
    location: str
    categories: tuple[str, ...]  # stream, place and, where it is not the keeper's work, person
    status: str
    priority: int
    transparent: bool = False
    relations: tuple[Relation, ...] = ()
    alarms: tuple[Alarm, ...] = ()
    completed: int | None = None
    percent: int = 0  # of a to-do whose units are done in part

    @cached_property
    def digest(self) -> str:
        """Changes when, and only when, something a subscriber can see has changed."""
        # names of classes and fields are part of it: renaming one would raise SEQUENCE of everything that was ever published
        return blake2b(repr(self).encode("utf-8", "surrogatepass"), digest_size=16).hexdigest()

    def with_former_ids(self, before: Mapping[str, str]) -> "Entry":
        """The entry with the UIDs it had when its tasks had the ids that `before` gives for their present ones."""
        return replace(
            self,
            uid=with_task(self.uid, before),
            relations=tuple(one._replace(uid=with_task(one.uid, before)) for one in self.relations),
            alarms=tuple(one._replace(uid=with_task(one.uid, before)) for one in self.alarms),
        )


_Linked = tuple[Link, Phase, int]
EntryCache = MutableMapping[tuple[str, str, bool, bool], tuple[Any, tuple[Entry, ...]]]


def entries(
    plan: Plan,
    *,
    todos: bool = False,
    holds: bool = False,
    streams: Collection[str] | None = None,
    acknowledged: Mapping[str, int] | None = None,
    cache: EntryCache | None = None,
) -> tuple[Entry, ...]:
    """
    The entries of a plan in its order.

    `todos` makes tasks for a task list instead of events; `holds` adds each hold as an event that takes no busy time; `streams` keeps only these;
    `acknowledged` says which alarms (by UID) were dismissed, and when; `cache` keeps entries between two calls; only changed tasks are made again.
    """
    chosen = [task for task in plan.tasks if streams is None or task.stream in streams]
    known = {task.id: task for task in chosen}
    phases = {task.id: _phases(task, todos) for task in chosen}
    warned: dict[str, list[str]] = {}
    for warning in plan.warnings:
        warned.setdefault(warning.task or "", []).append(in_words(warning.says, reader_of(plan)))
    dismissed: dict[str, list[tuple[str, int]]] = {}
    for name, when in (acknowledged or {}).items():
        if alarm := read_alarm_uid(name):
            dismissed.setdefault(alarm.task, []).append((name, when))
    found: list[Entry] = []
    for task in chosen:
        linked = tuple(relation for link in task.links if phases.get(link.task) for relation in [_linked(link, known[link.task], phases[link.task])])
        words = tuple(warned.get(task.id, ()))
        place, key = (plan.yard, task.id, todos, holds), (plan.timezone, linked, words, tuple(dismissed.get(task.id, ())), task)
        cached = cache.get(place) if cache is not None else None
        if cached is None or cached[0] != key:
            cached = (key, tuple(_make_entries(plan, task, linked, words, todos=todos, holds=holds, acknowledged=dict(dismissed.get(task.id, ())))))
            if cache is not None:
                cache[place] = cached
        found += cached[1]
    return tuple(found)


def _phases(task: PlannedTask, todos: bool) -> dict[Phase, tuple[int, int]]:
    """When each phase asks for hands; a to-do spans all its sittings. A task without hands gets one minute for its alerts, a limit when it is reached."""
    if not task.hands:
        at = task.due if task.limit and task.due is not None else task.start
        return {"begin": (at, at + _MINUTE)} if task.alerts else {}
    found: dict[Phase, tuple[int, int]] = {}
    for name, spans in (("begin", task.sittings), ("end", task.closing)):
        if todos and spans:
            spans = ((spans[0][0], spans[-1][1]),)
        for number, (start, stop) in enumerate(spans, 1):
            found[name if number == 1 else f"{name}-{number}"] = (start, max(stop, start + _MINUTE))
    return found


def _make_entries(
    plan: Plan,
    task: PlannedTask,
    linked: tuple[_Linked, ...],
    warnings: tuple[str, ...],
    *,
    todos: bool,
    holds: bool,
    acknowledged: dict[str, int],
) -> Iterator[Entry]:
    phases = _phases(task, todos)
    order = list(phases)
    text = _description(plan, task, warnings)
    alarms = _alarms(task, phases, acknowledged, plan.yard, todos)
    for phase, (start, end) in phases.items():
        related = [
            Relation(entry_uid(link.task, other, plan.yard, todo=todos), link.kind.replace(" ", "").upper(), gap)
            for link, other, gap in linked
            if _applies_to(link, phase, phases)
        ]
        if phase != order[0]:
            before = order[order.index(phase) - 1]
            gap = max(0, (task.hold_done or start) - phases[before][1]) if phase == "end" else 0
            related.append(Relation(entry_uid(task.id, before, plan.yard, todo=todos), "FINISHTOSTART", gap))
        yield Entry(
            entry_uid(task.id, phase, plan.yard, todo=todos),
            "todo" if todos else "event",
            start,
            _due(task, phase, phases, end) if todos else end,
            plan.timezone,
            _summary(task, order.index(phase)),
            text,
            one_line(plan.yard),
            _categories(task),
            _status(task, todos),
            PRIORITY.get(task.loss, 5),
            not task.hands,
            tuple(related),
            tuple(alarms[phase]),
            end if todos and task.status == "done" else None,
            _percent(task) if todos and phase == order[0] else 0,
        )
    if holds and not todos:
        yield from _hold(plan, task, text)


def _hold(plan: Plan, task: PlannedTask, text: str) -> Iterator[Entry]:
    begun = task.holds_from
    if task.hold_done is not None and task.hold_done > begun:
        summary = f"Holding: {one_line(title_of(task))}"
        yield Entry(
            entry_uid(task.id, "hold", plan.yard),
            "event",
            begun,
            task.hold_done,
            plan.timezone,
            summary,
            text,
            one_line(plan.yard),
            _categories(task),
            _status(task, False),
            9,
            True,
        )


def _applies_to(link: Link, phase: Phase, phases: dict[Phase, tuple[int, int]]) -> bool:
    """Whether a precedence relation applies to this phase: "... to start" the first, "... to finish" the last."""
    order = list(phases)
    return phase == (order[-1] if link.kind in OF_FINISH else order[0])


def _linked(link: Link, before: PlannedTask, phases: dict[Phase, tuple[int, int]]) -> _Linked:
    """The phase of the earlier task that a precedence counts from, and the gap [s]: its least lag and what is left of a hold that no work closes."""
    if link.kind not in FROM_FINISH:
        return link, next(iter(phases)), link.least
    last = list(phases)[-1]
    return link, last, link.least + max(0, before.finish - phases[last][1])


def _alarms(task: PlannedTask, phases: dict[Phase, tuple[int, int]], acknowledged: dict[str, int], yard: str, todos: bool) -> dict[Phase, list[Alarm]]:
    """The alarms of each phase: an alert after the first work is over belongs to the closing work, where there is any."""
    placed: dict[Phase, list[Alarm]] = {phase: [] for phase in phases}
    if task.status in ("done", "skipped"):
        return placed
    for number, alert in enumerate(task.alerts):
        phase: Phase = "end" if "end" in phases and ("begin" not in phases or alert.at >= phases["begin"][1]) else "begin"
        start, end = phases[phase]
        after_end = alert.at >= end and not todos  # in a VTODO "END" means DUE, which may lie days later
        name = alarm_uid(task.id, number, yard, todo=todos)
        placed[phase].append(
            Alarm(
                name,
                alert.at - (end if after_end else start),
                "END" if after_end else "START",
                paragraphs(words_of(alert.say)).strip() or one_line(title_of(task)),
                acknowledged.get(name),
            )
        )
    return placed


def _due(task: PlannedTask, phase: Phase, phases: dict[Phase, tuple[int, int]], end: int) -> int:
    """RFC 5545 DUE: the task's due date for its last phase, never before the work itself is over."""
    return max(end, task.due) if task.due is not None and phase == list(phases)[-1] else end


def _summary(task: PlannedTask, number: int) -> str:
    title = one_line(title_of(task)) or one_line(task.id)
    return f"By now: {title}" if task.limit else lead_in(task, number) + title + (f" ({one_line(task.person)})" if task.person else "")


def _categories(task: PlannedTask) -> tuple[str, ...]:
    return (task.stream, task.place, *([one_line(task.person)] if task.person else ()))


def _percent(task: PlannedTask) -> int:
    """How much of a task's units is done, where it is neither none nor all."""
    return round(100 * (1 - task.left / task.count)) if task.is_open and 0 < task.left < task.count else 0


def _status(task: PlannedTask, todo: bool) -> str:
    if task.status == "skipped":
        return "CANCELLED"
    if todo:
        return "COMPLETED" if task.status == "done" else "NEEDS-ACTION"
    return "TENTATIVE" if task.status == "provisional" else "CONFIRMED"


def _description(plan: Plan, task: PlannedTask, warnings: tuple[str, ...]) -> str:
    """Why, with its numbers; what to take care of; where the numbers come from."""
    year = local(task.start, plan.timezone).year
    where = "" if task.place == "anywhere" else task.place
    about = [task.harvest, f"lot {task.lot}" if task.lot else "", f"batch {task.batch}" if task.batch is not None else "", where, task.person or ""]
    lines = [", ".join(filter(None, about))]
    begun = task.holds_from
    if task.hold_done is not None and task.hold_done > begun:
        lines.append(f"Holds {show_duration(task.hold_done - begun)}, until {moment_text(task.hold_done, plan.timezone, year)}.")
    if task.due is not None:
        lines.append(f"Due by {moment_text(task.due, plan.timezone, year)}.")
    if task.status == "provisional":
        lines.append("Provisional: rests on a normal, firms up when observed.")
    lines += [f"Warning: {text}" for text in warnings]
    lines += [f"Caution: {caution}" for caution in task.cautions]
    reader = reader_of(plan)
    lines += ["", *(f"{reason.label}: {in_words(reason.says, reader)}" for reason in task.reasons)]
    sources = dict.fromkeys(source for reason in task.reasons for source in reason.sources)
    lines += [f"Source: {source}" for source in sources]
    return paragraphs("\n".join([*lines, f"Task {task.id}, rule {task.rule}"])).strip()
