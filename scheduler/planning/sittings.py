"""From the tasks of a plan to sittings: the hands-on work of one person at one place, with gaps of twenty minutes at most.

What calendars, alarms and the page speak of. A sitting ends where the person goes elsewhere and, once it has lasted three hours, at the next
gap between its steps. Food never shares one with a medicine, a mite wash, a fumigant or dirty hive tools, and wax on heat is not left for
other work: it ends its sitting. Work that two do together and work tied to the sun have sittings of their own; a limit and the end
of a hold that nobody closes are no work and are in none.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple, Protocol

from scheduler.local_time import HOUR, local
from scheduler.planning.plan import PlannedTask

GAP = 20 * 60  # s between two steps of one sitting at most; DESIGN
LONGEST = 3 * HOUR  # s after which a sitting ends at the next gap; DESIGN
HOUSE = "house"  # the rooms of it: honey room and store, and what can be done anywhere
FOOD, ON_HEAT = "food", "hot wax"
BESIDE_FOOD = frozenset({"medicine", "mite wash", "fumigant", "hive tools"})  # what never shares a sitting with food
_ANYWHERE = "anywhere"
ROOMS = frozenset({HOUSE, "honey room", "store", _ANYWHERE})  # where nobody has to go to the hives


class Work(Protocol):
    """What decides whether the steps of tasks may share a sitting."""

    @property
    def place(self) -> str:
        """Where it is: a room, "anywhere", or an apiary."""

    @property
    def way(self) -> int:
        """How long the way there from the house is [s]."""

    @property
    def handles(self) -> tuple[str, ...]:
        """Food and what must not be near it."""

    @property
    def sun_tied(self) -> bool:
        """Whether it is wanted about an event of the sun."""


class Step(NamedTuple):
    """A stretch of hands-on work of one task [s since 1970]: its phase is "begin" or "end" (of its hold), "begin-2" for a second stretch."""

    task: str
    phase: str
    start: int
    end: int

    @property
    def key(self) -> str:
        """The same from plan to plan: "ridge-2/a/drain.1 end"."""
        return f"{self.task} {self.phase}"


class Sitting(NamedTuple):
    """Steps of one person at one place, in order of start. Its id is a day and a number, "2026-08-11/2": the day it was first published for."""

    id: str
    person: str | None
    place: str
    steps: tuple[Step, ...]
    done: bool = False  # all of it is over
    together: bool = False  # the keeper does it with that person

    @property
    def start(self) -> int:
        """When its first step begins [s since 1970]."""
        return self.steps[0].start

    @property
    def end(self) -> int:
        """When its last step is over [s since 1970]."""
        return max(step.end for step in self.steps)

    @property
    def tasks(self) -> tuple[str, ...]:
        """The ids of its tasks, each once, in order of their steps."""
        return tuple(dict.fromkeys(step.task for step in self.steps))

    @property
    def people(self) -> tuple[str | None, ...]:
        """Who is at it, the keeper being None."""
        return (self.person, None) if self.together else (self.person,)


def sittings(tasks: Collection[PlannedTask], timezone: str, before: Mapping[str, Collection[str]] | None = None) -> tuple[Sitting, ...]:
    """
    The sittings of a plan's tasks in order of start: what is to come, then what is done.

    `before` are the keys of the steps of each sitting that was published, by its id: one that shares steps with it keeps that id, what is still
    to come first, so that a step that is done leaves its sitting.
    """
    known = {task.id: task for task in tasks}
    coming, over = (list(_groups(known, done)) for done in (False, True))
    groups = [*coming, *over]
    names = _names([one.steps for one in groups], len(coming), timezone, before or {})
    found = [
        Sitting(
            names[i],
            (first := known[one.steps[0].task]).person,
            HOUSE if one.place == _ANYWHERE else one.place,
            tuple(one.steps),
            i >= len(coming),
            first.together,
        )
        for i, one in enumerate(groups)
    ]
    return tuple(sorted(found, key=lambda one: (one.done, one.start, one.id)))


def joined(known: Mapping[str, Work], steps: Iterable[Step]) -> list[list[Step]]:
    """The steps of one person as sittings, each in order of start."""
    return [one.steps for one in _joined(known, steps)]


def place_of(task: Work) -> str:
    """The house for its rooms, "anywhere" for what can be done wherever one is, else the place."""
    return HOUSE if task.place in ("honey room", "store") else task.place


def has_name(place: str) -> bool:
    """Whether a place is an apiary that goes by a name of its own, as where there are several."""
    return place not in ROOMS and place != "apiary"


def leaves(found: Collection[Sitting], tasks: Mapping[str, PlannedTask]) -> dict[str, int]:
    """When a person has to leave for each sitting a way off that is still to come, by its id; nothing where they wait there since another [s since 1970]."""
    before: dict[str | None, tuple[str, int, int]] = {}
    moments: dict[str, int] = {}
    for one in sorted((one for one in found if not one.done), key=lambda one: one.start):
        way = max(tasks[name].way for name in one.tasks)
        place, back, over = before.get(one.person, (HOUSE, 0, 0))
        before.update(dict.fromkeys(one.people, (one.place, way, one.end)))
        stays = place == one.place and one.start - over < 2 * way
        if way and not stays:
            through = back if place != one.place and one.start - over < way + 2 * back else 0  # from one apiary on to the next
            moments[one.id] = one.start - way - through
    return moments


def steps_of(task: PlannedTask) -> Iterator[Step]:
    """The hands-on work of a task that is still to come."""
    if task.is_open:
        for name, spans in (("begin", task.sittings), ("end", task.closing)):
            for number, (start, end) in enumerate(spans, 1):
                yield Step(task.id, name if number == 1 else f"{name}-{number}", start, end)


def steps_done(task: PlannedTask) -> Iterator[Step]:
    """The hands-on work of a task that is over, when it was done; of work that nobody timed, its length by the card before it was done."""
    begin, end = task.work
    if task.status == "done":
        held = task.hold_done is not None
        if begin and not (held and end and task.start == task.finish):  # of a hold told only when it was over, nobody knows when it began
            yield Step(task.id, "begin", task.start if not held and task.start < task.finish else task.start - begin, task.start if held else task.finish)
        if held and end:
            yield Step(task.id, "end", task.finish - end, task.finish)
    elif task.is_open and task.begun and begin:
        yield Step(task.id, "begin", task.start, task.start + begin)  # a hold that runs starts with the hands that began it


class _Open:
    """A sitting that is being made: its steps, and what decides whether another belongs to it."""

    def __init__(self, task: Work, step: Step) -> None:
        self.steps, self.last = [step], step.end
        self.sun_tied, self.on_heat = task.sun_tied, ON_HEAT in task.handles
        self.place, self.handles = place_of(task), set(task.handles)

    def takes(self, task: Work, step: Step) -> bool:
        """Whether a step belongs to it; it is added then."""
        gap = step.start - self.last
        if gap > GAP and gap > 2 * task.way:
            return False
        place = place_of(task)
        most = max(GAP, 2 * task.way) if place == self.place else GAP  # at an apiary one waits rather than go home and come back
        if gap > most or (gap > 0 and self.last - self.steps[0].start >= LONGEST) or task.sun_tied != self.sun_tied:
            return False
        if place != self.place and (_ANYWHERE not in (place, self.place) or has_name(place) or has_name(self.place)):
            return False
        on_heat = ON_HEAT in task.handles
        if (self.on_heat and not on_heat) or not _may_meet(self.handles.union(task.handles)):
            return False
        self.steps.append(step)
        self.last = max(self.last, step.end)
        self.place = place if self.place == _ANYWHERE else self.place
        self.handles.update(task.handles)
        self.on_heat = on_heat
        return True


def _may_meet(handled: Collection[str]) -> bool:
    return FOOD not in handled or BESIDE_FOOD.isdisjoint(handled)


def _groups(known: Mapping[str, PlannedTask], done: bool) -> Iterator[_Open]:
    """The steps of each sitting, in order of start."""
    of: dict[tuple[str | None, ...], list[Step]] = {}
    for task in known.values():
        for step in steps_done(task) if done else steps_of(task):
            of.setdefault(task.people, []).append(step)
    found = [one for steps in of.values() for one in _joined(known, steps)]
    yield from sorted(found, key=lambda one: (one.steps[0].start, one.steps[0].key))


def _joined(known: Mapping[str, Work], steps: Iterable[Step]) -> Iterator[_Open]:
    current: _Open | None = None
    for step in sorted(steps, key=lambda step: (step.start, step.end, step.key)):
        if current is None or not current.takes(known[step.task], step):
            if current is not None:
                yield current
            current = _Open(known[step.task], step)
    if current is not None:
        yield current


def _names(groups: list[list[Step]], coming: int, timezone: str, before: Mapping[str, Collection[str]]) -> dict[int, str]:
    """The id of each group: that of the published sitting it shares most steps with, groups still to come first; else the day's next number."""
    of_step: dict[str, list[str]] = {}
    for name, keys in before.items():
        for key in keys:
            of_step.setdefault(key, []).append(name)
    shared: dict[tuple[int, str], int] = {}
    for i, group in enumerate(groups):
        for step in group:
            for name in of_step.get(step.key, ()):
                shared[i, name] = shared.get((i, name), 0) + 1
    names: dict[int, str] = {}
    taken: set[str] = set()
    for i, name in sorted(shared, key=lambda pair: (pair[0] >= coming, -shared[pair], pair)):
        if i not in names and name not in taken:
            names[i] = name
            taken.add(name)
    taken.update(before)
    numbers: dict[str, int] = {}
    for i, group in enumerate(groups):
        if i not in names:
            day = local(group[0].start, timezone).date().isoformat()
            number = numbers.get(day, 0) + 1
            while f"{day}/{number}" in taken:
                number += 1
            numbers[day], names[i] = number, f"{day}/{number}"
    return names
