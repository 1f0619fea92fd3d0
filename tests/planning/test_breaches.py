"""Limits that are not met: each is told once, with by how much and what would cure it."""

from __future__ import annotations

import pytest

from scheduler.planning.draft import Happened
from tests.planning.cards import at, planned, warnings

WORK = "work: {title: Work, for: cut comb, hands: 30 min, why: x, %s}"


def told(card: str, **given: object) -> dict[str, str]:
    """What is told of one task, without the equipment that it does not use."""
    found = warnings(planned(WORK % card, **given))  # type: ignore[arg-type]
    return {kind: words for kind, words in found.items() if kind != "unused equipment"}


def test_a_limit_that_is_kept_to_the_minute_is_not_told() -> None:
    """Free from half past five: done at six, seven and a half hours after the pull."""
    assert told("due: pulled + 7.5 h") == {}
    assert told("deadline: pulled + 7.5 h") == {}


def test_a_due_date_or_a_deadline_that_is_missed_is_told_with_how_late_it_is() -> None:
    """By five, done at six; of both the deadline is the one that is told."""
    cures = "30 min free before Tue 11 Aug 17:00, or Tue 11 Aug kept free from 07:00 to 22:00"
    words = f"Work: by Tue 11 Aug 17:00, planned for Tue 11 Aug 18:00, 1 h late. What would cure it: {cures}."
    assert told("due: pulled + 6.5 h") == {"due date missed": words}
    assert told("deadline: pulled + 6.5 h") == {"deadline missed": words}
    assert list(told("deadline: pulled + 6.5 h, due: pulled + 6 h")) == ["deadline missed"]


def test_a_limit_before_the_plan_begins_is_told_as_past() -> None:
    """It was due yesterday; also to the minute."""
    past = "It was due before this plan begins: do it first, or say when it was done."
    assert told("due: pulled - 1 d")["due date missed"].endswith(past)
    assert told("due: pulled")["due date missed"].endswith(past)
    assert not told("due: pulled + 1 min")["due date missed"].endswith(past)


def test_a_window_that_opens_after_the_limit_is_told_as_the_cause() -> None:
    """Outside the robbing season, which ends on 15 October; no free day before then is of any use."""
    found = told("due: pulled + 6.5 h, window: {season: {outside: robbing}}")["due date missed"]
    assert found.endswith("Its windows do not open before Fri 16 Oct 17:30: look at what the card asks of season, sun and temperature.")


def test_where_nothing_cures_it_that_is_told() -> None:
    """Due in half an hour, and the work takes two: no day is long enough."""
    found = warnings(planned("work: {title: Work, for: cut comb, hands: {before: 2 h, hours: any}, due: pulled + 30 min, why: x}"))
    assert found["due date missed"].endswith("None of the changes tried would be enough.")


def test_work_whose_window_no_free_hour_meets_has_no_time() -> None:
    """At five in the morning nobody is free, and 08:00 is the earliest at the weekend."""
    assert told("window: {clock: '05:00-06:00'}")["no time"].startswith("Work: no time fits its windows and the free hours")


@pytest.mark.parametrize(("within", "late"), [("30 min", True), ("25 h", False)])
def test_what_waits_longer_than_it_may_is_told(within: str, late: bool) -> None:
    """Comb is cut in the evening and packed a day later at the earliest: within 30 min is not kept, and what is over that is said."""
    cards = f"""
    cut: {{title: Cut, for: cut comb, hands: {{before: 10 min, hours: any}}, why: x}}
    pack: {{title: Pack, for: cut comb, hands: {{before: 10 min, hours: any}}, earliest: as of + 24 h, after: {{cut: {{within: {within}}}}}, why: x}}
    hold: {{title: Hold, for: cut comb, hands: {{before: 10 min, hours: any}}, after: {{cut: {{relation: start to start, within: 1 h}}}}, why: x}}
    """
    found = warnings(planned(cards, happened=Happened(done={"w/a/cut": (at("11 10:30"), at("11 10:40"))}), as_of="2026-08-11T10:40"))
    assert ("waits too long" in found) is late
    if late:
        assert found["waits too long"] == 'Pack: within 30 min of "Cut", planned 23 h 30 min later than that'


def test_a_hold_that_hands_end_only_after_it_may_wait_is_told() -> None:
    """Begun on Monday evening for 12 hours, to wait 8 at most; on Tuesday the hands are free from 17:30, an hour and a half after that."""
    card = "hold: {title: Hold, for: cut comb, hands: {before: 10 min, after: 10 min}, hold: {at least: 12 h, wait at most: 8 h}, why: x}"
    for begun, told_of in (("11 20:00", True), ("11 21:30", False)):
        found = warnings(planned(card, happened=Happened(begun={"w/a/hold": at(begun)}), as_of="2026-08-11T22:00"))
        assert ("held too long" in found) is told_of
    found = warnings(planned(card, happened=Happened(begun={"w/a/hold": at("11 20:00")}), as_of="2026-08-11T22:00"))
    assert found["held too long"] == "Hold: it may wait 8 h for hands once its hold is over, and they end it 90 min later than that"


def test_of_what_can_not_be_done_the_cause_alone_is_told() -> None:
    """The load is too large for the freezer; that it cannot be thawed either goes without saying."""
    cards = """
    freeze: {title: Freeze, for: cut comb, occupies: {freezer: 91 L}, hold: 24 h, due: pulled - 1 h, why: x}
    thaw: {title: Thaw, for: cut comb, after: {freeze: {}}, why: x}
    """
    assert [warning.task for warning in planned(cards).warnings if warning.kind != "unused equipment"] == ["w/a/freeze"]


def test_what_is_done_or_skipped_is_not_late() -> None:
    """It was done after its limit; nobody is told to do it sooner."""
    assert told("due: pulled + 1 h", happened=Happened(done={"w/a/work": (at("11 13:00"), at("11 14:00"))}), as_of="2026-08-11T15:00") == {}
    assert told("due: pulled + 1 h", happened=Happened(skipped={"w/a/work": (at("11 14:00"), "no time")}), as_of="2026-08-11T15:00") == {}
