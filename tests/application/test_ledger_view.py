"""The plan is a function of the facts that stand: not of the order they were written in, nor of what was taken back."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from scheduler.application.ledger_view import LedgerView
from scheduler.facts.fact import Fact, HarvestLogged, Observed, Reading, Recorded, Retracted, TaskBegun, TaskDone, TaskPutOff, TaskSkipped, YardSet
from scheduler.local_time import DAY, ceil_to_minute
from scheduler.outputs.plan_json import plan_bytes
from scheduler.planning.plan import Plan
from tests.chance import times
from tests.keeper import EXAMPLES

FOLDER = EXAMPLES / "kestrel_bank"
ALONE = (FOLDER / "yard.yaml").read_text(encoding="utf-8")
YARD = ALONE + '\npeople: {Ash: {hands: {sat-sun: "09:00-13:00"}, takes: [pack, apiary]}}\n'
RIDGE = (FOLDER / "ridge-2.yaml").read_text(encoding="utf-8")
PULLED = 1_786_437_000  # 11 August 2026, 10:30 at the yard
NOW = PULLED + 3 * DAY
moments = st.integers(1, 2 * DAY // 60).map(lambda minutes: PULLED + 60 * minutes)


class Season(RuleBasedStateMachine):
    """Things are told in any order, corrected and taken back; each moment is told of once, so that the order of writing cannot matter."""

    def __init__(self) -> None:
        super().__init__()
        self.recorded: list[Recorded] = []
        self.views: dict[tuple[Recorded, ...], LedgerView] = {}
        self.used: set[int] = set()

    def view(self, facts: list[Recorded]) -> LedgerView:
        """What facts say three days after the pull; the same facts in the same order are looked at once."""
        return self.views.setdefault(tuple(facts), LedgerView(facts, NOW))

    def plan(self) -> Plan:
        """The plan three days after the pull."""
        return self.view(self.recorded).plan

    def tell(self, fact: Fact) -> Recorded:
        """Write a fact down."""
        number = len(self.recorded) + 1
        self.recorded.append(Recorded(number, f"{number:032x}", NOW, fact))
        return self.recorded[-1]

    def free(self, moment: int) -> int:
        """The first moment from one on that nothing was told of."""
        while moment in self.used:
            moment += 1
        self.used.add(moment)
        return moment

    @initialize(yard=st.sampled_from([ALONE, YARD]))
    def begin(self, yard: str) -> None:
        """A yard, of one keeper or of two people, and a harvest."""
        self.tell(YardSet(occurred_at=PULLED - DAY, text=yard, path="yard.yaml"))
        self.tell(HarvestLogged(occurred_at=self.free(PULLED), harvest="ridge-2", text=RIDGE, path="ridge-2.yaml"))
        self.names = [task.id for task in self.plan().tasks if task.hands and task.start < PULLED + 30 * DAY]

    @rule(data=st.data(), at=moments, kind=st.sampled_from(["done", "begun", "in part", "skipped", "put off"]))
    def work(self, data: Any, at: int, kind: str) -> None:
        """Something became of a task."""
        task, at = data.draw(st.sampled_from(self.names)), self.free(at)
        made: dict[str, Fact] = {
            "done": TaskDone(occurred_at=at, task=task),
            "begun": TaskBegun(occurred_at=at, task=task),
            "in part": TaskDone(occurred_at=at, task=task, amount=6.0),
            "skipped": TaskSkipped(occurred_at=at, task=task, because="it rained"),
            "put off": TaskPutOff(occurred_at=at, task=task, until=at + 4 * DAY),
        }
        self.tell(made[kind])

    @rule(at=moments, moisture=st.sampled_from([0.168, 0.179, 0.186, 0.192]), lot=st.sampled_from("ab"))
    def read(self, at: int, moisture: float, lot: str) -> None:
        """A lot was measured."""
        self.tell(Reading(occurred_at=self.free(at), of=f"ridge-2/{lot}", what="moisture", value=moisture))

    @rule(at=moments, mark=st.sampled_from(["robbing ends", "first frost", "last warm day"]))
    def see(self, at: int, mark: str) -> None:
        """A mark of the season was seen."""
        self.tell(Observed(occurred_at=self.free(at), mark=mark, on=date(2026, 8, 12)))

    @rule(at=moments, frames=st.integers(1, 9))
    def correct(self, at: int, frames: int) -> None:
        """The harvest is logged again with another number of frames."""
        text = RIDGE.replace("frames: 5", f"frames: {frames}")
        self.tell(HarvestLogged(occurred_at=self.free(at), harvest="ridge-2", text=text, path="ridge-2.yaml"))

    @precondition(lambda self: len(self.recorded) > 3)
    @rule(data=st.data())
    def retell(self, data: Any) -> None:
        """A moment that was told wrong is told again."""
        one = data.draw(st.sampled_from(self.recorded[2:]))
        if not isinstance(one.fact, Retracted) and one.fact.replaces is None:
            self.tell(one.fact.model_copy(update={"replaces": one.id, "occurred_at": self.free(one.fact.occurred_at)}))

    @precondition(lambda self: len(self.recorded) > 2)
    @rule()
    def undo(self) -> None:
        """What was told last is taken back, and the plan is byte for byte what it was."""
        before = plan_bytes(self.view(self.recorded[:-1]).plan)
        self.tell(Retracted(occurred_at=NOW, replaces=self.recorded[-1].id))
        assert plan_bytes(self.plan()) == before

    @invariant()
    def what_was_replaced_leaves_no_trace(self) -> None:
        """The facts that stand give the same plan by themselves, whichever order they come in; of two words on a task the one told last counts."""
        if not self.recorded:
            return
        view = self.view(self.recorded)
        alone = [Recorded(one.sequence, one.id, one.recorded_at, one.fact.model_copy(update={"replaces": None})) for one in view.facts]
        assert plan_bytes(view.plan) == plan_bytes(LedgerView(alone, NOW).plan)

    @invariant()
    def what_was_done_stays_where_it_was(self) -> None:
        """A task done lies where it was told, the hold of one begun runs from there, each from the end of its minute; one skipped says so."""
        if not self.recorded:
            return
        view = self.view(self.recorded)
        assert [warning for warning in view.plan.warnings if warning.kind == "fault"] == []
        for task in view.plan.tasks:
            if task.id in view.happened.done:
                assert (task.status, (task.start, task.finish)) == ("done", tuple(map(ceil_to_minute, view.happened.done[task.id])))
            elif task.id in view.happened.skipped:
                assert task.status == "skipped"
            elif task.id in view.happened.begun and task.status != "impossible":
                assert task.holds_from == ceil_to_minute(view.happened.begun[task.id])
            else:
                over = view.happened.done.keys() | view.happened.skipped.keys()
                met = task.status == "done" and bool(task.links) and all(link.task in over for link in task.links)  # a limit, by the work it limits
                assert task.status in ("impossible", "lapsed") or met or task.start >= NOW


Season.TestCase.settings = settings(max_examples=times(40), stateful_step_count=4, deadline=None, suppress_health_check=list(HealthCheck))
TestSeason = pytest.mark.slow(Season.TestCase)


@pytest.mark.parametrize("silent", [0, 1, 9])  # days since the last word
def test_a_glance_holds_the_same_tasks_as_the_plan(silent: int) -> None:
    """What `done` asks of a plan, its times left out: which tasks there are, what they wait for, how long they hold."""
    facts = [
        YardSet(occurred_at=PULLED - DAY, text=YARD, path="yard.yaml"),
        HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text=RIDGE, path="ridge-2.yaml"),
    ]
    recorded = [
        Recorded(number, f"{number:032x}", PULLED, fact)
        for number, fact in enumerate([*facts, TaskBegun(occurred_at=PULLED + 600, task="ridge-2/close-up")], 1)
    ]
    now = PULLED + silent * DAY
    glance, full = (LedgerView(recorded, now, search=search).plan for search in (False, True))
    asked = [
        sorted(
            (one.id, one.status, one.title, tuple(link for link in one.links if not link.apart), one.hold_done is None, one.left, one.alongside)
            for one in plan.tasks
        )
        for plan in (glance, full)
    ]
    assert asked[0] == asked[1]
