"""How steady a plan is that is followed: `python -m tests.planning.followed --seed N` follows the examples and random yards for ten days.

Everything is recorded at its planned minute, and the plan is made anew whenever an evening of work begins or ends, as the ledger does. A task
moves when it starts more than a quarter of an hour otherwise; counted are open tasks that nothing recorded since precedes. At the end of each
evening the same is asked of a keeper who recorded nothing that evening, for tasks more than three days off. All yards are invented.
"""

# ruff: noqa: T201 - it prints its table

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from scheduler.application.ledger_view import LedgerView
from scheduler.application.plan_in_force import terms, written
from scheduler.facts.fact import Fact, HarvestLogged, Recorded, TaskBegun, TaskDone, YardSet
from scheduler.facts.harvest import pulled_at, read_harvest
from scheduler.facts.yard import read_yard
from scheduler.local_time import DAY
from scheduler.planning.plan import Plan, PlannedTask
from tests.planning.whole import HARVEST, LOTS, yard_text

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
MOVED = 15 * 60
FAR = 3 * DAY


@dataclass(frozen=True)
class Yard:
    """The texts of a yard and its harvests."""

    name: str
    yard: str
    harvests: tuple[tuple[str, str], ...]


@dataclass
class Count:
    """Tasks that moved, of how many."""

    moved: int = 0
    of: int = 0
    which: list[str] = field(default_factory=list)

    @property
    def share(self) -> float:
        """The share that moved."""
        return self.moved / self.of if self.of else 0.0

    def add(self, other: Count) -> None:
        """Count others too."""
        self.moved, self.of = self.moved + other.moved, self.of + other.of
        self.which += other.which


class Follower:
    """A keeper who does what the plan says, to the minute."""

    def __init__(self, yard: Yard) -> None:
        self.recorded: list[Recorded] = []
        self.text: str | None = None
        place = read_yard(yard.yard.encode(), "yard.yaml")
        zone = ZoneInfo(place.place.timezone)
        pulls = {name: int(pulled_at(read_harvest(text.encode(), f"{name}.yaml", place), zone).timestamp()) for name, text in yard.harvests}
        self.now = min(pulls.values()) - 60
        self.record(YardSet(occurred_at=self.now, text=yard.yard, path="yard.yaml"))
        self.coming = sorted(((pulls[name], name, text) for name, text in yard.harvests), reverse=True)
        self.log()

    def log(self) -> None:
        """Log the next harvest, as it is pulled."""
        self.now, name, text = self.coming.pop()
        self.record(HarvestLogged(occurred_at=self.now, harvest=name, text=text, path=f"{name}.yaml"))

    def record(self, fact: Fact) -> None:
        """Write a fact down as it happens."""
        number = len(self.recorded) + 1
        self.recorded.append(Recorded(number, f"{number:032x}", fact.occurred_at, fact))

    def plan(self) -> Plan:
        """The plan by now, which is in force from here on."""
        view = LedgerView(self.recorded, self.now, self.text)
        self.text = written(view.plan, terms(view.recorded))
        self.until = view.as_of.until
        return view.plan

    def supposed(self) -> Plan:
        """The plan by now, that nobody sees."""
        return LedgerView(self.recorded, self.now, self.text).plan

    def follow(self, plan: Plan, until: int) -> set[str]:
        """Do what is planned up to a moment; gives the tasks of which something was recorded."""
        done = [fact for task in plan.tasks if task.is_open and task.alongside is None for fact in _facts(task) if self.now < fact.occurred_at <= until]
        for fact in sorted(done, key=lambda fact: fact.occurred_at):
            self.record(fact)
        self.now = until
        return {fact.task for fact in done}


def _facts(task: PlannedTask) -> Iterator[TaskBegun | TaskDone]:
    if task.sittings and task.hold_done is not None:
        yield TaskBegun(occurred_at=task.holds_from, task=task.id)
    if not task.limit:
        start = task.holds_from if task.hold_done is not None else task.start
        yield TaskDone(occurred_at=task.finish, task=task.id, started_at=start)


def moved(before: Plan, after: Plan, told: set[str], far: int = 0) -> Count:
    """What moved from one plan to the next, of the open tasks that start `far` after the first and that nothing told of precedes."""
    behind = set(told)
    for task in sorted(after.tasks, key=lambda task: (task.start, task.id)):
        if any(link.task in behind for link in task.links):
            behind.add(task.id)
    now, found = {task.id: task for task in after.tasks}, Count()
    for task in before.tasks:
        then = now.get(task.id)
        if not task.is_open or task.alongside is not None or task.limit or task.id in behind or task.start <= before.as_of + far:
            continue
        found.of += 1
        if then is None or (then.is_open and abs(then.start - task.start) > MOVED):
            found.moved += 1
            found.which.append(f"{task.id} {(then.start - task.start) / 3600 if then else float('nan'):+.1f} h")
    return found


def followed(yard: Yard, days: int = 10) -> tuple[Count, Count]:
    """What moves while a plan is followed for so many days, and what is far off and moves when an evening goes by with nothing recorded."""
    keeper, followed, idle = Follower(yard), Count(), Count()
    plan = keeper.plan()
    last = (keeper.coming[0][0] if keeper.coming else keeper.now) + days * DAY
    while keeper.now < last:
        until = keeper.until
        if keeper.coming and keeper.coming[-1][0] <= until:
            keeper.follow(plan, keeper.coming[-1][0])
            keeper.log()
            plan = keeper.plan()
            continue
        if any(keeper.now < a < until for task in plan.tasks for a, _ in task.hands):
            lazy = Follower.__new__(Follower)
            lazy.recorded, lazy.text, lazy.now = keeper.recorded, keeper.text, until
            idle.add(moved(plan, lazy.supposed(), set(), FAR))
        told = keeper.follow(plan, until)
        before, plan = plan, keeper.plan()
        followed.add(moved(before, plan, told))
    return followed, idle


def examples() -> Iterator[Yard]:
    """Every example with all its harvests."""
    for folder in sorted(one for one in EXAMPLES.iterdir() if one.is_dir()):
        harvests = tuple((path.stem, path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.yaml")) if path.stem != "yard")
        yield Yard(folder.name, (folder / "yard.yaml").read_text(encoding="utf-8"), harvests)


def random_yard(random: Random, name: str) -> Yard:
    """A yard with one or two harvests, as a person could have written it."""
    space, rack, room = random.choice([15, 40, 90, 200]), random.choice([12, 40, 300]), random.choice([16, 21, 27])
    evening = random.choice(["17:30-21:30", "19:00-22:00", "06:00-07:30, 18:00-21:00"])
    day = datetime.fromisoformat(random.choice(["2026-07-04", "2026-08-11", "2026-09-20"]))
    harvests = []
    for number in range(random.randint(1, 2)):
        lots = ""
        for one in range(random.randint(1, 3)):
            kind = random.choice(list(LOTS))
            moisture, imperfect = random.choice([16.5, 17.4, 18.5]), random.choice([0, 20])
            lots += LOTS[kind].format(id="abc"[one], frames=random.randint(1, 24), moisture=moisture, imperfect=imperfect)
        pulled = f"{day.date()}T10:{number}0"
        harvests.append((f"pull-{number}", HARVEST.format(name=f"pull-{number}", pulled=pulled, lots=lots)))
    return Yard(name, yard_text(space=space, rack=rack, room=room, evening=evening), tuple(harvests))


def main(arguments: list[str]) -> int:
    """Print the counts. Returns 0."""
    parser = argparse.ArgumentParser(prog="python -m tests.planning.followed")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--yards", type=int, default=30)
    parser.add_argument("--days", type=int, default=10)
    parser.add_argument("--which", action="store_true", help="name what moved")
    asked = parser.parse_args(arguments)
    yards = [*examples(), *(random_yard(Random(f"{asked.seed} {number}"), f"yard {number}") for number in range(asked.yards))]
    every, far = Count(), Count()
    for one in yards:
        stays, idle = followed(one, asked.days)
        idly = f"nothing recorded {idle.moved:4} of {idle.of:6} {idle.share:6.1%}"
        print(f"{one.name:14} followed {stays.moved:4} of {stays.of:6} {stays.share:6.1%}   {idly}", flush=True)
        if asked.which:
            print("".join(f"    {name}\n" for name in [*stays.which, "nothing recorded:", *idle.which]))
        every.add(stays)
        far.add(idle)
    print(f"seed {asked.seed}: followed {every.share:.2%} of {every.of}, nothing recorded {far.share:.2%} of {far.of}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
