"""Whole yards and harvests for the tests of a plan: texts a person could have written, drawn at random. All invented."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from unittest.mock import patch
from zoneinfo import ZoneInfo

from hypothesis import strategies as st

from scheduler.facts.harvest import Harvest, read_harvest
from scheduler.facts.yard import Yard, read_yard
from scheduler.planning import planner
from scheduler.planning.network import Network, Schedule
from scheduler.planning.plan import Plan
from scheduler.planning.problem import Problem
from scheduler.rules.load import load
from scheduler.rules.rule_set import Rules

YARD = """\
yard: Anywhere
place: {{latitude: {latitude}, longitude: {longitude}, timezone: {timezone}}}
hands: {{mon-fri: "{evening}", sat-sun: "08:00-20:00"}}
room: {{temperature: {room} °C, humidity: 55 %}}
equipment:
  freezer: {{temperature: {cold} °C, space: {space} L, freezing capacity: 9 kg/day, air: still}}
  drain rack: {{pieces: {rack}}}
  settling tank: {{volume: 60 L, depth: 40 cm}}
season:
  main flow begins: 10 May
  main flow ends: 20 July
  robbing: 25 July to 15 October
  first frost: 14 October
  last frost: 25 April
  first warm day: 20 March
  last warm day: 20 October
  spring bloom: 20 April
limits: {{moisture: 18.6 %}}
"""
HARVEST = """\
harvest: {name}
pulled: {pulled}
hives: [north, south]
lots:
{lots}"""
LOTS = {
    "cut comb": "  - {{id: {id}, kind: cut comb, frames: {frames}, frame: shallow, comb thickness: 32 mm, moisture: {moisture} %, imperfect: {imperfect} %}}\n",
    "extracted": "  - {{id: {id}, kind: extracted, frames: {frames}, frame: medium, moisture: {moisture} %}}\n",
    "dry comb": "  - {{id: {id}, kind: dry comb, frames: {frames}, frame: deep}}\n",
}
_rules: dict[tuple[str, ...], Rules] = {}


@dataclass(frozen=True)
class Case:
    """What was planned, the plan, and the network and placements behind it."""

    problem: Problem
    plan: Plan
    network: Network
    placed: Schedule

    @property
    def yard(self) -> Yard:
        """The yard planned for."""
        return self.problem.yard


def yard_text(**given: object) -> str:
    """A yard file with these values in place of the usual ones."""
    usual = {"latitude": 46.31, "longitude": 14.18, "timezone": "Europe/Ljubljana", "evening": "17:30-21:30", "room": 21, "cold": -18, "space": 90, "rack": 300}
    return YARD.format(**{**usual, **given})


def yard(**given: object) -> Yard:
    """A yard with these values in place of the usual ones."""
    return read_yard(yard_text(**given).encode(), "yard.yaml")


def harvest(place: Yard, name: str, pulled: str, lots: list[dict[str, object]]) -> Harvest:
    """A harvest of these lots."""
    told = "".join(LOTS[str(lot["kind"])].format(id="abcdefgh"[number], **lot) for number, lot in enumerate(lots))
    return read_harvest(HARVEST.format(name=name, pulled=pulled, lots=told).encode(), f"{name}.yaml", place)


def planned(place: Yard, harvests: list[Harvest], as_of: str, *, cures: bool = False) -> Case:
    """Plan, and keep the network that was placed; without cures, which take longer than the plan."""
    moment = int(datetime.fromisoformat(as_of).replace(tzinfo=ZoneInfo(place.place.timezone)).timestamp())
    rules = load(place.rules, place.changes) if place.changes else _rules.setdefault(place.rules, load(place.rules))
    problem = Problem(place, rules, tuple(harvests), moment, place.season)
    seen: list[tuple[Network, Schedule]] = []
    answer = planner.answer

    def answered(problem: Problem, drafts: object, network: Network, placed: Schedule, *rest: object) -> Plan:
        seen.append((network, placed))
        return answer(problem, drafts, network, placed, *rest)  # type: ignore[arg-type]

    with patch.object(planner, "answer", answered):
        plan = planner.plan(problem, cures=cures)
    return Case(problem, plan, *seen[-1])


lots = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(list(LOTS)),
        "frames": st.integers(1, 24),
        "moisture": st.sampled_from([16.5, 17.4, 18.5, 18.9]),
        "imperfect": st.sampled_from([0, 20]),
    }
)
yards = st.fixed_dictionaries(
    {
        "space": st.sampled_from([15, 40, 90, 200]),
        "rack": st.sampled_from([12, 40, 300]),
        "cold": st.sampled_from([-24, -18, -13]),
        "room": st.sampled_from([16, 21, 27]),
        "evening": st.sampled_from(["17:30-21:30", "19:00-22:00", "06:00-07:30, 18:00-21:00"]),
    }
)


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A yard with one or two harvests in it, in or out of the robbing season."""
    place = yard(**draw(yards))
    day = draw(st.sampled_from(["2026-07-04", "2026-08-11", "2026-09-20"]))
    found = [harvest(place, f"pull-{number}", f"{day}T10:{number}0", draw(st.lists(lots, min_size=1, max_size=3))) for number in range(draw(st.integers(1, 2)))]
    return planned(place, found, f"{day}T11:00")
