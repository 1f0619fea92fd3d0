"""A keeper records true things in any order, at any later time: nothing is lost, nothing is refused, nothing is invented."""

from __future__ import annotations

import shutil
import tempfile
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from scheduler.local_time import DAY, HOUR, ceil_to_minute
from tests.chance import times
from tests.keeper import Keeper
from tests.stores import place

pytestmark = [pytest.mark.slow]


class Season(RuleBasedStateMachine):
    """What was done in ten days is what the first plan said, shifted by a delay; what is told of it, and when, is drawn."""

    kind = "sqlite"

    def __init__(self) -> None:
        super().__init__()
        self.stays = ExitStack()
        self.folder = Path(tempfile.mkdtemp())
        self.begun: dict[str, int] = {}
        self.done: dict[str, int] = {}

    @initialize(late=st.integers(0, 5 * HOUR))
    def pulled(self, late: int) -> None:
        """Three lots at Kestrel Bank; every step `late` by so many seconds."""
        self.keeper = Keeper(self.stays.enter_context(place(self.kind, self.folder)), "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
        end = self.keeper.now + 10 * DAY
        self.true = [(task.id, task.holds_from + late, task.finish + late) for task in self.keeper.plan.tasks if task.hands and task.start < end]
        self.holds = {task.id for task in self.keeper.plan.tasks if task.hold_done is not None}

    @rule(hours=st.integers(1, 40))
    def time_goes_on(self, hours: int) -> None:
        """Nothing is told."""
        self.keeper.now += hours * HOUR

    @rule(which=st.integers(0, 10**6), whole=st.booleans())
    def tells(self, which: int, whole: bool) -> None:
        """One thing that happened by now and was not told before, with its moment."""
        open_ = [one for one in self.true if one[0] not in self.done and one[1] <= self.keeper.now]
        if not open_:
            return
        task, begun, over = open_[which % len(open_)]
        if task in self.holds and task not in self.begun and not (whole and over <= self.keeper.now):
            self.keeper.types("done", task, "--at", self.shown(begun))
            self.begun[task] = begun
        elif over <= self.keeper.now:
            self.keeper.types("done", task, "--whole", "--at", self.shown(over))
            self.done[task] = over

    @rule()
    def takes_the_last_word_back_and_tells_it_again(self) -> None:
        """A slip of the finger changes nothing in the end."""
        if self.done:
            task, over = list(self.done.items())[-1]
            self.keeper.types("undo", task)
            self.keeper.types("done", task, "--whole", "--at", self.shown(over))

    @invariant()
    def what_was_told_is_so_and_nothing_else(self) -> None:
        """To the second in the facts, to the minute in the plan, which keeps its own limits."""
        view = self.keeper.view
        assert {task: over for task, (_, over) in view.happened.done.items()} == self.done
        assert dict(view.happened.begun) == self.begun
        found = {task.id: task for task in view.plan.tasks}
        assert {task: (found[task].status, found[task].finish) for task in self.done} == {
            task: ("done", ceil_to_minute(over)) for task, over in self.done.items()
        }
        running = self.begun.keys() - self.done.keys()
        assert {task: found[task].holds_from for task in running} == {task: ceil_to_minute(self.begun[task]) for task in running}
        assert not [warning for warning in view.plan.warnings if warning.kind == "fault"]

    def shown(self, moment: int) -> str:
        """Local time at the yard."""
        return datetime.fromtimestamp(moment, self.keeper.zone).isoformat()

    def teardown(self) -> None:
        self.stays.close()
        shutil.rmtree(self.folder)


class SeasonOnAServer(Season):
    """The same on a real PostgreSQL."""

    kind = "postgresql"


TestAnyOrder = Season.TestCase
TestAnyOrderOnAServer = pytest.mark.system(SeasonOnAServer.TestCase)
TestAnyOrderOnAServer.settings = settings(deadline=None, max_examples=times(20), stateful_step_count=times(300), suppress_health_check=list(HealthCheck))
TestAnyOrder.settings = settings(deadline=None, max_examples=times(40), stateful_step_count=times(300), suppress_health_check=list(HealthCheck))
