"""What is so though nobody records it. All invented."""

from __future__ import annotations

from scheduler.planning.draft import Happened
from tests.planning.cards import TWO_LOTS, planned, tasks


def test_a_hold_that_no_hands_begin_begins_by_itself() -> None:
    """Cappings drain from the first stroke: nobody says so, and once spinning is recorded they stay where they were, with what follows them."""
    cards = """
    spin: {title: Spin, for: extracted, loss: crop, why: x, hands: 2 h}
    cappings: {title: Drain, for: extracted, why: x, after: {spin: {relation: start to start}}, hands: {before: 0 min, after: 10 min}, hold: 24 h}
    render: {title: Render, for: extracted, why: x, after: {cappings: {}}, hands: 1 h}
    """
    first = planned(cards, TWO_LOTS)
    spin = tasks(first)["w/b/spin"]
    done = Happened(done={spin.id: (spin.start, spin.finish)})
    for as_of in ("2026-08-11T22:00", "2026-08-12T12:00"):
        then = tasks(planned(cards, TWO_LOTS, as_of=as_of, happened=done))
        assert [(one.id, one.start, one.finish) for one in then.values()] == [(one.id, one.start, one.finish) for one in first.tasks]
        assert then["w/b/cappings"].begun


def test_a_limit_is_reached_once_the_work_before_it_is_done() -> None:
    """The work-up limit of a lot is done with its spinning, at the minute that ended, and not while the spinning is open."""
    cards = """
    spin: {title: Spin, for: extracted, loss: crop, why: x, hands: 2 h}
    limit: {title: By then, for: extracted, loss: crop, why: x, after: {spin: {}}, hands: {before: 0 min, hours: any}, due: pulled + 7 d}
    """
    first = planned(cards, TWO_LOTS)
    spin = tasks(first)["w/b/spin"]
    assert tasks(first)["w/b/limit"].status == "planned"
    done = planned(cards, TWO_LOTS, as_of="2026-08-12T12:00", happened=Happened(done={spin.id: (spin.start, spin.finish)}))
    assert (tasks(done)["w/b/limit"].status, tasks(done)["w/b/limit"].finish) == ("done", spin.finish)
