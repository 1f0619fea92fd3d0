"""Warm loads kept apart from loads in the same freezer whose kill is not over.

A warm load gives its heat to what lies beside it. What counts is whether the kill there is over: the computed time of cooling and
exposure at its safe end, from when that load went in. Before that the kill would be undone in part, so the plan sets the warm load into
another freezer or lets it wait, where that makes nothing late; else it warns. After it every stage of moth in the older load is dead, and
no warmth brings one back; what runs on is the keeper's floor, a margin on top. A warning then would ask for nothing that makes the comb
safer and teach the eye to skip the ones that do, so there is only a reason, told with the task. Where the freezer's own record shows that the air
went warm, that time is taken off the floor anyway (proof.py).
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from scheduler.estimates import freeze
from scheduler.estimates.callable_estimates import freezers_of
from scheduler.local_time import HOUR
from scheduler.planning.draft import Draft
from scheduler.planning.network import Network, Placement
from scheduler.planning.objective import Cost, cost_of
from scheduler.planning.plan import Link, Reason
from scheduler.planning.priority import Priorities
from scheduler.planning.problem import Problem
from scheduler.quantities import Statement, celsius, instant, kilograms, say

SETTLED = 3 * HOUR  # a load that has been in the freezer for less is still warm itself; assumed [s]
WORK = 4_000  # tasks placed in all while keeping loads apart; assumed, as is the next line
FEWEST, MOST = 2, 12  # plannings
Placed = Mapping[str, Placement]


class _Load(NamedTuple):
    """A load in a freezer: when it goes in and comes out, when its kill is over, and its mass [kg]."""

    draft: Draft
    start: int
    finish: int
    over: int
    mass: float


class Beside(NamedTuple):
    """A warm load set into a freezer beside others, and what these could warm to [°C]."""

    draft: Draft
    freezer: str
    others: tuple[_Load, ...]
    mass: float
    warmed: float

    @property
    def over(self) -> int:
        """When the last kill among the others is over."""
        return max(other.over for other in self.others)

    @property
    def held(self) -> float:
        """The mass of the others [kg]."""
        return sum(other.mass for other in self.others)

    @property
    def names(self) -> tuple[str, ...]:
        """The ids of the load and of the others."""
        return self.draft.id, *(other.draft.id for other in self.others)

    def says(self, problem: Problem) -> Statement:
        """What there is to say where they could not be kept apart."""
        mass, held = kilograms(self.mass), kilograms(self.held)
        warm, warmed = celsius(problem.yard.room.temperature), celsius(self.warmed)
        over = instant(self.over)
        if self.draft.begun is not None:
            return say("warm beside cold and begun", title=self.draft.title, mass=mass, warm=warm, held=held, warmed=warmed, over=over)
        return say("warm beside cold", title=self.draft.title, mass=mass, warm=warm, held=held, warmed=warmed, over=over)


class Planned(NamedTuple):
    """Drafts, the network made of them, its schedule, and the priorities by which it was made."""

    drafts: list[Draft]
    network: Network
    placed: dict[str, Placement]
    priorities: Priorities


def beside(drafts: Sequence[Draft], placed: Placed, problem: Problem) -> list[Beside]:
    """Warm loads that could undo a kill that is not over, in the order in which they go in."""
    return list(_beside(drafts, placed, problem, over=False))


def kept_apart(planned: Planned, problem: Problem, scheduled: Callable[[list[Draft]], Planned], allowed: Callable[[Sequence[Draft], Placed], bool]) -> Planned:
    """The plan with warm loads in another freezer, or later, wherever that passes no more limits.

    Loads are taken in the order in which they go in; each goes where it is out again soonest. To move one may set it, or another, beside a
    third, and that is moved in its turn; kept is what leaves the fewest beside each other. The number of plannings is bounded by a count.
    """
    found = beside(planned.drafts, planned.placed, problem)
    budget = max(FEWEST, min(MOST, WORK // len(planned.drafts))) if found else 0
    most = cost_of(planned.network, planned.placed).limits()
    best, fewest = planned, len(found)
    seen: set[tuple[str, ...]] = set()
    while budget > 0 and (one := next((one for one in found if one.names not in seen and one.draft.begun is None), None)):
        seen.add(one.names)
        tried: list[tuple[int, int, Cost, Planned, list[Beside]]] = []
        for drafts in _ways(one, planned.drafts):
            budget -= 1
            changed = scheduled(drafts)
            cost = cost_of(changed.network, changed.placed)
            then = beside(drafts, changed.placed, problem)
            if cost.limits() <= most and one.names not in {still.names for still in then} and allowed(drafts, changed.placed):
                tried.append((len(then), changed.placed[one.draft.id].finish, cost, changed, then))
        if tried:
            count, _, _, planned, found = min(tried, key=lambda one: one[:3])
            if count < fewest:
                best, fewest = planned, count
    return best


def told(planned: Planned, problem: Problem) -> Iterator[tuple[Draft, Reason]]:
    """The reason for each load that goes in beside others which only the keeper's floor still holds."""
    for one in _beside(planned.drafts, planned.placed, problem, over=True):
        waited = {link.task for link in one.draft.links}
        if loads := tuple(say("load", title=other.draft.title) for other in one.others if other.draft.id not in waited):
            yield one.draft, Reason("beside", say("beside a dead load", loads=loads, over=instant(one.over)))


def _ways(one: Beside, drafts: Sequence[Draft]) -> Iterator[list[Draft]]:
    """The drafts with a load held to one of the other freezers, then with it waiting."""
    draft = one.draft
    elsewhere = [number for number, mode in enumerate(draft.modes) if all(name != one.freezer for name, _ in mode.loads)]
    if elsewhere:
        others = tuple(say("load", title=load.draft.title) for load in one.others)
        reason = Reason("apart", say("kept out of a freezer", freezer=one.freezer, loads=others))
        modes, holds = tuple(draft.modes[number] for number in elsewhere), tuple(draft.holds[number] for number in elsewhere)
        yield _changed(drafts, replace(draft, modes=modes, holds=holds, reasons=[*draft.reasons, reason]))
    links = [Link(load.draft.id, "start to start", load.over - load.start, apart=True) for load in one.others]
    lasting = tuple(say("load of a mass", title=load.draft.title, mass=kilograms(load.mass)) for load in one.others)
    reason = Reason("apart", say("waits for a kill", loads=lasting, mass=kilograms(one.mass)))
    yield _changed(drafts, replace(draft, links=[*draft.links, *links], reasons=[*draft.reasons, reason]))


def _changed(drafts: Sequence[Draft], new: Draft) -> list[Draft]:
    return [new if draft.id == new.id else draft for draft in drafts]


def _beside(drafts: Sequence[Draft], placed: Placed, problem: Problem, *, over: bool) -> Iterator[Beside]:
    """Loads that go in beside others, whose kill is `over` or not, and could warm these above what kills."""
    loads, by = _loads(drafts, placed, problem), freezers_of(problem.rules.trade)
    pairs = ((load, name) for name, found in loads.items() for load in found)
    for load, name in sorted(pairs, key=lambda pair: (pair[0].start, pair[0].draft.id)):
        equipment = problem.yard.equipment[name]
        if equipment.temperature is None:
            continue
        others = tuple(other for other in loads[name] if other.start + SETTLED < load.start < other.finish and (other.over <= load.start) == over)
        cold = freeze.Freezer(equipment.temperature, by, equipment.air)
        warmed = freeze.warmed_to(load.mass, problem.yard.room.temperature, sum(other.mass for other in others), cold)
        if warmed is not None:
            yield Beside(load.draft, name, others, load.mass, warmed)


def _loads(drafts: Sequence[Draft], placed: Placed, problem: Problem) -> dict[str, list[_Load]]:
    """What is still to go into each freezer, or is in it."""
    found: dict[str, list[_Load]] = {}
    for draft in drafts:
        at = placed.get(draft.id)
        if at is None or draft.id in problem.happened.done or draft.id in problem.happened.skipped:
            continue
        mode = draft.modes[at.mode]
        holds_from = at.sittings[-1][1] if at.sittings else at.start if draft.begun is None else draft.begun
        for name, mass in mode.loads:
            found.setdefault(name, []).append(_Load(draft, at.start, at.finish, min(holds_from + mode.needed, at.hold_done), mass))
    return found
