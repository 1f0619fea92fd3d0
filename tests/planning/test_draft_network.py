"""Drafts as a network of tasks, by cards of the tests' own. All invented."""

from __future__ import annotations

from scheduler.planning.draft import Happened
from tests.planning.cards import at, planned, starts, tasks
from tests.planning.whole import yard

WORK = "work: {title: Work, for: extracted, loss: crop, why: x, hands: 2 h}\n"
LOT = "  - {id: b, kind: extracted, frames: 12, frame: medium, moisture: 18 %}\n"


def test_what_was_told_only_by_its_end_began_with_its_hands() -> None:
    """Two hours of work done at five began at three, and a look follows three hours from there; where the beginning was told, from that."""
    look = WORK + "look: {title: Look, for: extracted, why: x, after: {work: {relation: start to start, at least: 3 h}}, hands: 10 min}\n"
    for began, looked in (("11 17:00", "11 18:00"), ("11 16:00", "11 19:00")):
        done = Happened(done={"w/b/work": (at(began), at("11 17:00"))})
        assert starts(planned(look, LOT, as_of="2026-08-11T17:30", happened=done))["w/b/look"] == looked


def test_batches_begin_in_the_order_of_their_numbers() -> None:
    """Forty pieces on a rack of twelve are drained in four turns: the second does not begin before the first."""
    cards = """
    drain: {title: Drain, for: cut comb, loss: crop, why: x, hands: 5 min, hold: 24 h, batches: {of: lot.pieces, fits: drain rack},
            occupies: {drain rack: batch.count}}
    """
    lot = "  - {id: a, kind: cut comb, frames: 4, frame: shallow, comb thickness: 32 mm, pieces: 40, moisture: 17 %}\n"
    found = planned(cards, lot, place=yard(rack=12))
    turns = [task.start for task in found.tasks if task.rule == "mine/drain"]
    assert len(turns) == 4
    assert turns == sorted(turns)


def test_a_lag_from_the_start_of_what_was_begun_is_past_changing() -> None:
    """The work must begin within an hour of what began yesterday: that cannot be any more, and nobody is warned of it as if it could."""
    cards = """
    soak: {title: Soak, for: extracted, loss: crop, why: x, hands: {before: 5 min, after: 5 min}, hold: 24 h}
    work: {title: Work, for: extracted, loss: crop, why: x, after: {soak: {relation: start to start, within: 1 h}}, hands: 1 h}
    """
    found = planned(cards, LOT, as_of="2026-08-12T12:00", happened=Happened(begun={"w/b/soak": at("11 17:30")}))
    assert starts(found)["w/b/work"] == "12 17:35"
    assert not [one for one in found.warnings if one.kind not in ("unused equipment",)]
    assert tasks(found)["w/b/soak"].begun
