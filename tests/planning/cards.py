"""Plans by a few cards of a test's own, in place of the bundled rule files. All invented."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from textwrap import dedent, indent
from zoneinfo import ZoneInfo

from scheduler.documents import read
from scheduler.facts.harvest import read_harvest
from scheduler.facts.yard import Yard
from scheduler.outputs.wording.sentence import Reader, in_words
from scheduler.planning.draft import NOTHING, Happened, InForce
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.planner import plan
from scheduler.planning.problem import Problem
from scheduler.rules.expressions import underscored
from scheduler.rules.layers import checked
from scheduler.rules.load import load
from scheduler.rules.rule_set import LoadedSet, Rules
from scheduler.rules.vocabulary import NAMES
from tests.planning.whole import yard

ZONE = ZoneInfo("Europe/Ljubljana")
PULLED = "2026-08-11T10:30"  # a Tuesday; hands are free from 17:30 to 21:30
KEEPER = Reader("metric", ZONE)
TWO_LOTS = """\
  - {id: a, kind: cut comb, frames: 2, frame: shallow, comb thickness: 32 mm, pieces: 20, moisture: 17 %}
  - {id: b, kind: extracted, frames: 12, frame: medium, moisture: 18 %}
"""
NUMBERS = "parameters:\n  floor: {value: 12 h, basis: assumed, checked: 2026-11-25}\n"


def at(local: str) -> int:
    """A moment of August 2026 at the yard: "11 10:30"; or of another month: "2026-10-14 00:00"."""
    text = local if len(local) > 8 else f"2026-08-{local}"
    return int(datetime.fromisoformat(text).replace(tzinfo=ZONE).timestamp())


@cache
def trade() -> LoadedSet:
    """The numbers of the trade that come with the program, and none of its cards."""
    bundled = load().sets
    numbers = {name: one for rule_set in bundled.values() for name, one in rule_set.parameters.items() if underscored(name) in NAMES["trade"]}
    return next(iter(bundled.values()))._replace(name="trade", parameters=numbers, cards={}, stops={}, cautions={}, treatments={}, places={})


def rules(cards: str, more: str = NUMBERS) -> Rules:
    """A rule set "mine" with these cards and nothing else but the numbers of the trade."""
    text = f"ruleset: mine\nversion: 1\n{more}tasks:\n{indent(dedent(cards).strip(chr(10)), '  ')}\n"
    return Rules({"mine": checked(read(text.encode(), "mine.yaml")), "trade": trade()})


def planned(
    cards: str,
    lots: str = TWO_LOTS,
    as_of: str = PULLED,
    place: Yard | None = None,
    more: str = NUMBERS,
    happened: Happened = NOTHING,
    pulls: str = PULLED,
    *,
    asks: bool = False,
    hives: str = "[north, south]",
    before: InForce | None = None,
) -> Plan:
    """The plan of harvests pulled at these moments, w, x, y in turn, by these cards alone; it `asks` where a ledger would."""
    place = place or yard()
    harvests = tuple(
        read_harvest(f"harvest: {name}\npulled: {pulled}\nhives: {hives}\nlots:\n{lots}".encode(), f"{name}.yaml", place)
        for name, pulled in zip("wxyz", pulls.split(), strict=False)
    )
    return plan(Problem(place, rules(cards, more), harvests, at(as_of), place.season, happened, asks=asks, in_force=before))


def tasks(found: Plan) -> dict[str, PlannedTask]:
    """The tasks of a plan by id."""
    return {task.id: task for task in found.tasks}


def starts(found: Plan) -> dict[str, str]:
    """When each task starts, by id: day and time in August, or the whole date."""
    moments = {task.id: datetime.fromtimestamp(task.start, ZONE) for task in found.tasks}
    return {name: f"{one:%d %H:%M}" if (one.year, one.month) == (2026, 8) else f"{one:%Y-%m-%d %H:%M}" for name, one in moments.items()}


def reasons(task: PlannedTask) -> dict[str, str]:
    """What a task says of itself, by label."""
    return {reason.label: in_words(reason.says, KEEPER) for reason in task.reasons}


def warnings(found: Plan) -> dict[str, str]:
    """The warnings of a plan by kind, the last of each."""
    return {warning.kind: in_words(warning.says, KEEPER) for warning in found.warnings}
