"""What is so though nobody records it. All invented."""

from __future__ import annotations

from scheduler.planning.draft import Happened
from scheduler.planning.incumbent import in_force
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


def test_work_under_way_goes_on_when_something_else_is_recorded() -> None:
    """Spinning from 17:30; at 17:45 anything moves the plan, and the spinning stays. Not where it was put off, nor once its time is over."""
    cards = (
        "spin: {title: Spin, for: extracted, loss: crop, why: x, hands: 2 h}\nlabel: {title: Label, for: extracted, why: x, after: {spin: {}}, hands: 20 min}"
    )
    first = planned(cards, TWO_LOTS)
    spin = tasks(first)["w/b/spin"]
    kept = in_force(first)
    meanwhile = tasks(planned(cards, TWO_LOTS, as_of="2026-08-11T17:45", before=kept))
    assert (meanwhile[spin.id].start, meanwhile[spin.id].finish) == (spin.start, spin.finish)
    assert meanwhile["w/b/label"].start == tasks(first)["w/b/label"].start
    assert tasks(planned(cards, TWO_LOTS, as_of="2026-08-11T17:45"))[spin.id].start > spin.start
    late = tasks(planned(cards, TWO_LOTS, as_of="2026-08-11T21:40", before=kept))
    assert late[spin.id].start > spin.finish
    put_off = Happened(put_off={spin.id: spin.start + 3600})
    assert tasks(planned(cards, TWO_LOTS, as_of="2026-08-11T17:45", before=kept, happened=put_off))[spin.id].start >= spin.start + 3600
