"""Facts as they come up in a season, for the tests of the ledger. Names, days and numbers are invented."""

from __future__ import annotations

from datetime import date
from typing import Any

from hypothesis import strategies as st

from scheduler.facts.fact import (
    AlertAcknowledged,
    Fact,
    HarvestLogged,
    HarvestPulled,
    HiveDied,
    HiveDisease,
    HiveTreatment,
    LarvaeSeen,
    LotReleased,
    LotsMet,
    Observed,
    QueenAbove,
    Reading,
    SeriesRecorded,
    SettingChanged,
    TaskBegun,
    TaskDone,
    TaskPutOff,
    TaskSkipped,
    Wanted,
    YardSet,
)

PULLED = 1_786_000_000  # a morning in August 2026 [s since 1970 UTC]
HOUR = 3600

YARD = YardSet(occurred_at=PULLED, text="yard: Kestrel Bank\n", path="yard.yaml")
HARVEST = HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text="harvest: ridge-2\nnote: 5 Rähmchen, 印\n", path="ridge-2.yaml")
OFF = HarvestPulled(occurred_at=PULLED, harvest="ridge-2", without_bees=86400.0)
CUT = TaskDone(occurred_at=PULLED + 5 * HOUR, task="ridge-2.a.cut", started_at=PULLED + 4 * HOUR)
FROZEN_SOME = TaskDone(occurred_at=PULLED + 20 * HOUR, task="ridge-2.a.freeze", amount=6.0)
FREEZING = TaskBegun(occurred_at=PULLED + 20 * HOUR, task="ridge-2.a.freeze-2")
NO_TREATMENT = TaskSkipped(occurred_at=PULLED + 40 * HOUR, task="yard.treatment", because="the count was low")
LATER = TaskPutOff(occurred_at=PULLED + 41 * HOUR, task="ridge-2.b.bottle", until=PULLED + 90 * HOUR)
MOISTURE = Reading(occurred_at=PULLED + HOUR, of="ridge-2/a", what="moisture", value=0.174)
FROST = Observed(occurred_at=PULLED + 60 * 24 * HOUR, mark="first frost", on=date(2026, 10, 9))
LOG = SeriesRecorded(occurred_at=PULLED + 50 * HOUR, of="freezer", what="freezer", text="time,temperature\n2026-08-12T06:00Z,-17.9\n", path="log.csv")
QUIET = SettingChanged(occurred_at=PULLED, name="quiet hours", value="21:30-06:30")
BROOD = HiveDisease(occurred_at=PULLED + 30 * HOUR, hive="north", suspected=True)
SEEN_ABOVE = QueenAbove(occurred_at=PULLED + 2 * HOUR, harvest="ridge-2", hive="north")
WINTER = HiveDied(occurred_at=PULLED + 4000 * HOUR, hive="ridge", cause="starved")
STRIPS = HiveTreatment(occurred_at=PULLED + 200 * HOUR, hive="all", begins=True, active="formic acid")
LET_GO = LotReleased(occurred_at=PULLED + 80 * HOUR, lot="ridge-2/a", because="the label allows supers")
MARKET = Wanted(occurred_at=PULLED + 82 * HOUR, lot="ridge-2/a", what="packages", number=1, count=12, until=PULLED + 600 * HOUR, who="the cheese stall")
TANK = LotsMet(occurred_at=PULLED + 26 * HOUR, lot="ridge-2/b-c", of=("ridge-2/b", "ridge-2/c"))
WORM = LarvaeSeen(occurred_at=PULLED + 81 * HOUR, lot="ridge-2/a", seen=True)
HEARD = AlertAcknowledged(occurred_at=PULLED + 70 * HOUR, alert="ridge-2.a.freeze/hold done")

SEASON: tuple[Fact, ...] = (
    YARD,
    HARVEST,
    OFF,
    CUT,
    FROZEN_SOME,
    FREEZING,
    NO_TREATMENT,
    LATER,
    MOISTURE,
    FROST,
    LOG,
    QUIET,
    BROOD,
    SEEN_ABOVE,
    WINTER,
    STRIPS,
    LET_GO,
    WORM,
    TANK,
    MARKET,
    HEARD,
)

moments = st.integers(PULLED, PULLED + 400 * 24 * HOUR)
words = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=40)


def tasks_done(**fixed: Any) -> st.SearchStrategy[Fact]:
    """Tasks that were done at some time in the year after the pull."""
    return st.builds(lambda at, task: TaskDone(occurred_at=at, task=task, **fixed), moments, st.sampled_from(["cut", "drain", "pack", "freeze", "label"]))
