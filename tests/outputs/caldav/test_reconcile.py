"""Any order of planning, ticking, adding, deleting and breaking lines: nothing twice, nothing of others touched, no tick unheard."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from scheduler.outputs.caldav.http import SyncStopped
from scheduler.outputs.caldav.merge import Stamp
from scheduler.outputs.caldav.reconcile import SyncState, pull, push
from scheduler.outputs.calendar.entries import entries
from scheduler.outputs.calendar.publication import Published, completed, publish
from tests.chance import times
from tests.outputs.caldav.double import Lying, other, tick
from tests.outputs.plans import HOUR, at, plan, ridge

ZONE, YARD, BEGIN = "Europe/Ljubljana", "kestrel-bank", at("2026-08-11 10:30")

STAMP = Stamp("0" * 32, 7)


class Syncing(RuleBasedStateMachine):
    """A plan, a server, a memory that is written down as the application does, and the people around them."""

    @initialize(restless=st.booleans(), silent=st.booleans())
    def start(self, restless: bool, silent: bool) -> None:
        """A server with its habits, and somebody's entry on it."""
        self.remote = Lying(restless=restless, silent=silent)
        self.tasks, self.published, self.clock = list(ridge().tasks), dict[str, Published](), BEGIN
        self.kept = SyncState().to_json()
        self.ticked, self.heard = set[str](), set[str]()
        neighbour = other("ridge-2/a/cut.begin.todo@pelican-bend.afterpull", "Another yard's")
        self.foreign = {"/keeper/kestrel-bank/choir.ics": other(), "/keeper/kestrel-bank/neighbour.ics": neighbour}
        for href, content in self.foreign.items():
            self.remote.others(href, content)
        self.publish()

    def publish(self) -> None:
        """What the plan says now."""
        self.clock += 60
        self.published = publish(entries(plan(*self.tasks), todos=True), self.published, self.clock)

    @rule(number=st.integers(0, 3), hours=st.integers(1, 48))
    def plan_moves(self, number: int, hours: int) -> None:
        """A task is planned for later."""
        lag, one = hours * HOUR, self.tasks[number]
        hands = tuple((start + lag, stop + lag) for start, stop in one.hands)
        self.tasks[number] = replace(one, start=one.start + lag, finish=one.finish + lag, hold_done=one.hold_done and one.hold_done + lag, hands=hands)
        self.publish()

    @rule(failing=st.sampled_from([0, 0, 2, 3, 5]))
    def sync(self, failing: int) -> None:
        """The line may break at any call; the memory is what was written down before it broke."""
        self.remote.failing = failing
        with suppress(SyncStopped):
            self.once()
        self.remote.failing = 0

    def once(self) -> int:
        """As the application does it: hear, write down, push, write down."""
        known = SyncState.from_json(self.kept)
        pulled = pull(self.remote, known, YARD, ZONE, STAMP, self.published)
        self.heard |= {change.uid for change in pulled.changes if change.kind == "ticked"}
        self.changes = pulled.changes

        def save() -> None:
            self.kept = known.to_json()

        save()
        try:
            wanted = {uid: self.done(state) if uid in self.heard else state for uid, state in self.published.items()}
            return push(self.remote, known, wanted, pulled, ZONE, save, STAMP).left
        finally:
            save()

    def done(self, state: Published) -> Published:
        """What was heard is published as done."""
        return completed(state, self.clock, self.clock)

    @rule(number=st.integers(0, 9))
    def somebody_ticks(self, number: int) -> None:
        """On the phone, where the entry is there."""
        there = sorted(self.remote.entries().keys() & self.published.keys())
        if there:
            uid = there[number % len(there)]
            self.remote.edit(uid, lambda part: tick(part, self.clock))
            self.ticked.add(uid)

    @rule(number=st.integers(0, 9))
    def somebody_deletes(self, number: int) -> None:
        """An entry that nobody has ticked."""
        there = sorted((self.remote.entries().keys() & self.published.keys()) - self.ticked)
        if there:
            self.remote.remove(there[number % len(there)])

    @rule(number=st.integers(1, 3), note=st.text(st.characters(categories=["L", "N"]), max_size=8))
    def somebody_keeps_something(self, number: int, note: str) -> None:
        """In the same calendar."""
        href = f"/keeper/kestrel-bank/own-{number}.ics"
        self.foreign[href] = other(f"own-{number}@example.org", f"Own {note}")
        self.remote.others(href, self.foreign[href])

    @invariant()
    def others_are_left_alone(self) -> None:
        """Octet for octet."""
        assert {href: self.remote.held[href][1] for href in self.foreign} == self.foreign

    @invariant()
    def nothing_is_there_twice(self) -> None:
        """No UID in two objects."""
        self.remote.entries()

    def teardown(self) -> None:
        """With a line that holds, two syncs bring everything in step, and a third is silent."""
        if not hasattr(self, "remote"):
            return
        self.once()
        self.once()
        puts = self.remote.puts
        assert self.once() == 0
        assert (self.changes, self.remote.puts) == ((), puts)
        assert self.ticked <= self.heard
        there: dict[str, Any] = self.remote.entries()
        assert all(str(there[uid]["STATUS"]) == "COMPLETED" for uid in self.ticked)
        assert {uid for uid in self.published if uid not in self.heard} <= there.keys()


Syncing.TestCase.settings = settings(max_examples=times(500), stateful_step_count=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
TestSyncing = Syncing.TestCase
