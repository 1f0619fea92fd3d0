"""How true the odds are: `python -m tests.planning.relived --futures 25` lives each future of a plan with a keeper who plans anew.

The odds follow a plan by right-shift within one model. Here the same futures (the same evenings missed, the same weather, the same hands) are lived
through the ledger: what was done is recorded when it is over, and the whole plan is made anew whenever something is recorded and as an evening of work
begins or ends, by the program that knows nothing of what is to come. Compared is, for each limit and future, whether it is kept. Invented examples.
"""

# ruff: noqa: T201 - it prints its table

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from scheduler.application.ledger_view import LedgerView
from scheduler.application.plan_in_force import terms, written
from scheduler.facts.fact import TaskBegun, TaskDone
from scheduler.local_time import ceil_to_minute
from scheduler.planning.network import FROM_FINISH, Placement, Task
from scheduler.planning.odds import Future, Model, lasts
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.planner import INDOORS, judging
from tests.planning.followed import Follower, Yard, examples

AGREE = 0.9  # of limits and futures are kept or lost alike, in the mean of the examples


class Span(NamedTuple):
    """A stretch of hands-on work as it is planned."""

    start: int
    end: int
    task: PlannedTask
    last: bool  # of its part of the task: before the hold, or after it
    closing: bool


class Agreement(NamedTuple):
    """Of how many limits and futures were kept or lost alike, how many of these lost, kept only by the odds, and kept only as lived."""

    of: int
    alike: int
    lost: int
    only_odds: int
    only_lived: int

    @property
    def share(self) -> float:
        """The share that is alike."""
        return self.alike / self.of if self.of else 1.0


class Liver(Follower):
    """A keeper to whom one future happens: who is not there on some evenings, stays in when it is wet, and takes longer or less."""

    def happens(self, model: Model, future: Future, asked: tuple[int, int]) -> None:
        """What is to happen, and the hours in which the plan was asked for, which are kept."""
        self.model, self.future, self.zone, self.asked = model, future, model.zone, asked
        self.starts: dict[str, int] = {}  # when each task was begun
        self.done: dict[str, Placement] = {}  # and how it lay, once it was over
        self.holds: dict[str, int] = {}  # when a hold that began is really over, though the plan has it over sooner

    def holding(self, plan: Plan, span: Span) -> bool:
        """Whether the hold that it ends, or one that it waits for, still goes on: whoever looks sees that, and leaves it."""
        waits = {span.task.id} if span.closing else {link.task for link in span.task.links if link.kind in FROM_FINISH}
        return any(span.start < self.over(task) for task in plan.tasks if task.id in waits)

    def over(self, task: PlannedTask) -> int:
        """When the hold of a task is really over [s since 1970]; 0 where the plan knows, or it has not begun."""
        lasting = self.model.lasting.get(task.id)
        if task.id not in self.holds and lasting is not None and lasting[0] is not None and task.hold_done is not None and task.begun:
            self.holds[task.id] = task.holds_from + lasts(lasting[0], self.future.holds[task.id])
        return self.holds.get(task.id, 0)

    def there(self, span: Span) -> bool:
        """Whether the person is there for it, and the weather lets it."""
        if self.asked[0] <= span.start < self.asked[1]:
            return True
        day = datetime.fromtimestamp(span.start, self.zone).date()
        away = day in self.future.missed.get(span.task.person or "", ())
        return not away and not (span.task.place not in INDOORS and day in self.future.wet)

    def live(self, plan: Plan, until: int) -> None:
        """Work by a plan until something is recorded, or until a moment."""
        undone: set[str] = set()
        for span in sorted(_spans(plan), key=lambda one: (one.start, one.task.id)):
            if span.start >= until:
                break
            if span.task.id in undone or undone & _behind(plan, span.task) or not self.there(span):
                undone.add(span.task.id)
            else:
                self.work(span)
                return
        for task in plan.tasks:
            over = max(task.finish, self.over(task))
            if task.is_open and task.begun and not task.closing and not task.limit and self.now < over <= until:
                self.record(TaskDone(occurred_at=over, task=task.id, started_at=task.holds_from))
        self.now = until

    def work(self, span: Span) -> None:
        """Do it, as long as it really takes, and record it."""
        task, began = span.task, max(self.now, span.start)
        self.now = began + ceil_to_minute(math.ceil((span.end - span.start) * self.future.factors.get(task.id, 1.0)))
        if not span.last:
            self.starts.setdefault(task.id, began)
            self.record(TaskDone(occurred_at=self.now, task=task.id, started_at=began, worked=span.end - span.start))
        elif task.hold_done is not None and not span.closing:
            self.starts.setdefault(task.id, began)
            self.record(TaskBegun(occurred_at=self.now, task=task.id))
        else:
            started = self.starts.setdefault(task.id, task.start if span.closing else began)
            over = task.hold_done if task.hold_done is not None else began
            self.done[task.id] = Placement(started, self.now, over, (), ((began, self.now),) if span.closing else ())
            self.record(TaskDone(occurred_at=self.now, task=task.id, started_at=task.holds_from if task.hold_done is not None else began))


def _spans(plan: Plan) -> Iterator[Span]:
    for task in plan.tasks:
        if task.is_open and task.alongside is None and not task.limit:
            for spans, closing in ((task.sittings, False), (task.closing, True)):
                for number, (start, end) in enumerate(spans, 1):
                    yield Span(start, end, task, number == len(spans), closing)


def _behind(plan: Plan, task: PlannedTask) -> set[str]:
    """Everything that a task waits for."""
    tasks, ahead = {one.id: one for one in plan.tasks}, [task.id]
    found: set[str] = set()
    while ahead:
        one = tasks.get(ahead.pop())
        new = {link.task for link in one.links} - found if one is not None else set()
        found |= new
        ahead += new
    return found


def lived(yard: Yard, number: int, most: int) -> tuple[dict[str, bool], dict[str, bool]]:
    """Which of the judged limits are kept in one future: by the odds, and as lived. At most so many limits, the earliest."""
    keeper = Liver(yard)
    while keeper.coming:
        keeper.log()
    view = LedgerView(keeper.recorded, keeper.now)
    plan = view.plan
    model, key = judging(view.planning, plan)
    judged = sorted(model.judged(), key=lambda task: (limit_of(task), task.id))[:most]
    future = model.drawn(key, number)
    by_odds, _ = model.kept(future, judged)
    keeper.happens(model, future, (view.as_of.moment, view.as_of.until))
    keeper.text, keeper.until = written(plan, terms(view.recorded)), view.as_of.until
    limits = {task.id: limit_of(task) for task in judged}
    while any(_undecided(plan, name, limit) for name, limit in limits.items()):
        keeper.live(plan, keeper.until)
        plan = keeper.plan()
    was = {task.id: Placement(task.start, task.finish, task.finish, (), ()) for task in plan.tasks if task.status == "done"}
    schedule = {**model.placed, **was, **keeper.done}
    fell = {task.id for task in plan.tasks if task.status in ("skipped", "lapsed")}
    known = {task.id for task in plan.tasks} - fell
    as_lived = {task.id: task.id in schedule and task.id in {**was, **keeper.done} and not model.late(task, schedule) for task in judged if task.id in known}
    return {name: by_odds[name] for name in as_lived}, as_lived


def limit_of(task: Task) -> int:
    """The first limit of a task [s since 1970]."""
    return min(limit for limit in (task.due, task.deadline) if limit is not None)


def _undecided(plan: Plan, name: str, limit: int) -> bool:
    task = next((one for one in plan.tasks if one.id == name), None)
    return task is not None and task.is_open and plan.as_of < limit


def agreement(yard: Yard, futures: Sequence[int], most: int = 1000) -> tuple[Agreement, dict[str, list[int]]]:
    """How many limits and futures were kept or lost alike; and by limit, how often by the odds, as lived, and of how many."""
    by_limit: dict[str, list[int]] = {}
    alike = lost = only_odds = only_lived = 0
    for number in futures:
        by_odds, as_lived = lived(yard, number, most)
        for name, kept in by_odds.items():
            alike += kept == as_lived[name]
            lost += not kept and not as_lived[name]
            only_odds += kept and not as_lived[name]
            only_lived += as_lived[name] and not kept
            counted = by_limit.setdefault(name, [0, 0, 0])
            counted[0], counted[1], counted[2] = counted[0] + kept, counted[1] + as_lived[name], counted[2] + 1
    return Agreement(alike + only_odds + only_lived, alike, lost, only_odds, only_lived), by_limit


def main(arguments: list[str]) -> int:
    """Print the table. Returns 1 where less agrees than is asked."""
    parser = argparse.ArgumentParser(prog="python -m tests.planning.relived")
    parser.add_argument("--futures", type=int, default=25)
    parser.add_argument("--limits", type=int, default=1000, help="judge no more limits than these, the earliest")
    parser.add_argument("--of", help="of this example alone")
    asked = parser.parse_args(arguments)
    shares = []
    for yard in examples():
        for harvest in yard.harvests:
            name = harvest[0]
            if asked.of in (None, name):
                found, by_limit = agreement(Yard(name, yard.yard, (harvest,)), range(asked.futures), asked.limits)
                shares.append(found.share)
                one_sided = f"lost in both {found.lost}, kept only by the odds {found.only_odds}, only as lived {found.only_lived}"
                print(f"{name:12} alike {found.alike:4} of {found.of:4} {found.share:6.1%}   {one_sided}", flush=True)
                print("".join(f"    {task:44} odds {a:3} lived {b:3} of {c:3}\n" for task, (a, b, c) in by_limit.items() if a != b), end="", flush=True)
    print(f"in the mean {sum(shares) / len(shares):.1%}")
    return 0 if sum(shares) >= AGREE * len(shares) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
