"""A pull that is planned: the day before, until one word says that the supers are off; it may come late, otherwise than planned, or never."""

from __future__ import annotations

import pytest

from tests.keeper import Keeper, section


@pytest.fixture
def thursday(new_place: str) -> Keeper:
    """Kestrel Bank on the Thursday before a pull that is planned for Tuesday 11 August 10:30."""
    return Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-06T19:00").logs("ridge-2")


def test_what_would_follow_is_likely_and_silent_until_the_supers_are_off(thursday: Keeper) -> None:
    """Before the pull: boards, freezer, room, the pull itself, all firm; what hangs on the pull is likely, and nobody is called to it."""
    before = {"escape-board", "ready-freezer", "ready-room", "pull"}
    firm = {task.id.rpartition("/")[2] for task in thursday.plan.tasks if task.is_open and task.status == "planned" and task.alongside is None}
    assert firm == before
    assert {task.id.rpartition("/")[2] for task in thursday.plan.tasks if task.alerts} == before
    assert thursday.told(thursday.task("close-up")) == "2026-08-11 10:30"
    assert "the pull is planned for Tue 11 Aug 10:30" in thursday.types("why", "a/cut")


def test_with_one_word_it_is_the_harvest(thursday: Keeper) -> None:
    """The same plan as that of a harvest logged when the supers were off at that time."""
    thursday.waits_until("2026-08-11T13:00")
    assert "supers off Tue 11 Aug 11:10" in thursday.types("pulled", "--at", "11:10")
    assert not thursday.has("escape-board")
    assert thursday.task("a/cut.1").status == "planned"
    assert thursday.task("close-up").due == thursday.moment("2026-08-11T12:10")
    thursday.types("undo")
    assert thursday.task("a/cut.1").status == "provisional"


def test_what_differed_is_told_with_it(thursday: Keeper) -> None:
    """Fewer frames of one lot, none of another, and unripe frames as a lot of their own, stopped until they are dry."""
    thursday.waits_until("2026-08-11T13:00")
    said = thursday.types("pulled", "ridge-2", "--at", "11:10", "--frames", "b=11", "--frames", "c=0", "--lot", "extracted 3 medium 19.2%")
    assert "still says what was planned" in said
    [harvest] = thursday.view.harvests
    assert [(lot.id, lot.frames) for lot in harvest.lots] == [("a", 5), ("b", 11), ("d", 3)]
    assert thursday.view.ahead == {}
    assert "ridge-2/d: moisture" in thursday.types("agenda")
    text = thursday.types("pulled", "ridge-2", "--frames", "x=3", refused=True)
    assert "a=4" in text


def test_work_that_follows_the_pull_shows_that_it_was(thursday: Keeper) -> None:
    """Who cuts has pulled, whether or not the word was given; the pull counts as planned, or as the work where that was earlier."""
    thursday.waits_until("2026-08-11T20:08").types("done", "a/cut")
    assert thursday.view.ahead == {}
    assert thursday.task("close-up").due == thursday.moment("2026-08-11T11:30")
    thursday.types("undo")
    thursday.types("done", "pull", "--at", "09:50")
    assert thursday.task("close-up").due == thursday.moment("2026-08-11T10:50")


def test_the_day_before_can_be_told_and_is_over_with_the_pull(thursday: Keeper) -> None:
    """What was made ready is recorded; what was not is no use once the supers should be off."""
    thursday.waits_until("2026-08-10T20:30").types("done", "ready-room")
    assert thursday.task("ready-room").status == "done"
    assert thursday.has("ready-freezer")
    thursday.waits_until("2026-08-11T18:00")
    assert not thursday.has("ready-freezer")
    assert "pull" in section(thursday.types("agenda"), "OVERDUE")
    assert "close-up" not in section(thursday.types("agenda"), "OVERDUE")


def test_nothing_that_follows_stands_before_a_pull_that_is_late(thursday: Keeper) -> None:
    """In the evening of the day nobody has said anything: the supers come off first, and are covered then."""
    thursday.waits_until("2026-08-11T20:00")
    assert thursday.task("pull").finish <= thursday.task("close-up").start


def test_a_pull_that_never_came_leaves_one_question(thursday: Keeper) -> None:
    """A day after it nothing is planned from it any more; another day for it is logged, or it is withdrawn."""
    thursday.waits_until("2026-08-12T21:45")
    assert thursday.plan.tasks == ()
    assert [warning.kind for warning in thursday.plan.warnings] == ["pull not told"]
    assert "Are the supers off? afterpull pulled ridge-2" in " ".join(thursday.types("agenda").split())
    thursday.types("log", "--withdraw", "ridge-2")
    assert thursday.plan.warnings == ()


def test_it_can_still_be_told_days_later(thursday: Keeper) -> None:
    """Whatever was planned in between."""
    thursday.waits_until("2026-08-14T19:00").types("pulled", "--at", "Tue 11:10")
    assert thursday.task("a/cut.1").status == "planned"


def test_a_pull_still_to_come_and_an_unknown_one_are_refused(thursday: Keeper) -> None:
    """Nothing is written then."""
    assert "still to come" in thursday.types("pulled", "--at", "2026-08-11T10:30", refused=True)
    assert 'no harvest "x" is logged' in thursday.types("pulled", "x", refused=True)
    assert thursday.view.ahead != {}


def test_with_beetle_the_clock_starts_when_the_bees_leave(thursday: Keeper) -> None:
    """Over an escape board that is a day before the pull: the hours without bees are told with it."""
    thursday.waits_until("2026-08-11T11:00").types("pulled", "--without-bees", "24h")
    [harvest] = thursday.view.harvests
    assert harvest.without_bees == 24 * 3600
