"""Packages and jars that are wanted by a time: taken out for it and not before, and an honest word where that cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.keeper import Keeper

SATURDAY = "sat 5 sep 08:00"


@pytest.fixture
def ridge(new_place: str) -> Keeper:
    """Kestrel Bank half an hour after the pull: 16 packages will come of lot a, 51 jars of lot b."""
    return Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")


def test_without_a_want_nothing_is_taken_out(ridge: Keeper) -> None:
    """The packages stay frozen; with one they are out, thawed, labelled and in crates in time, and not days before."""
    assert not ridge.has("a/thaw.1")
    ridge.types("want", "12", "packages", "of", "a", "by", SATURDAY)
    thaw, label = ridge.task("a/thaw.1"), ridge.task("a/label.1")
    assert ridge.moment("2026-09-02T08:00") <= thaw.start
    assert thaw.finish <= label.start < label.finish <= ridge.moment("2026-09-05T08:00")
    assert (thaw.count, label.count) == (12, 12)
    assert "Crate them" in ridge.types("agenda", "--all")


def test_a_want_withdrawn_is_served_no_more_and_leaves_its_number_unused(ridge: Keeper) -> None:
    """So that what was recorded of one is never taken for another."""
    ridge.types("want", "6", "packages", "of", "a", "by", SATURDAY)
    assert "6 packages of ridge-2/a" in ridge.types("want")
    ridge.types("want", "--withdraw", "ridge-2/a.1")
    assert not ridge.has("a/thaw.1")
    assert "Nothing is wanted" in ridge.types("want")
    ridge.types("want", "6", "packages", "of", "a", "by", SATURDAY)
    assert ridge.has("a/thaw.2")


def test_no_more_is_promised_than_there_is(ridge: Keeper) -> None:
    """Counting what others want."""
    assert "there are 16" in ridge.types("want", "17", "packages", "of", "a", "by", SATURDAY, refused=True)
    ridge.types("want", "10", "packages", "of", "a", "by", SATURDAY)
    assert "6 of 16 are left" in ridge.types("want", "7", "packages", "of", "a", "by", "sat 12 sep 08:00", refused=True)
    assert "there are 0" in ridge.types("want", "1", "jars", "of", "c", "by", SATURDAY, refused=True)


def test_what_can_not_be_ready_says_by_when_it_can(ridge: Keeper) -> None:
    """Comb cut tonight is frozen until Saturday: nothing can be sold on Wednesday. Who insists is taken at their word."""
    early = ("want", "12", "packages", "of", "a", "by", "wed 12 aug 08:00")
    assert "cannot be ready by then; by Sun 16 Aug" in ridge.types(*early, refused=True)
    assert ridge.view.happened.wants == ()
    ridge.types(*early, "--yes")
    assert len(ridge.view.happened.wants) == 1


def test_what_is_stopped_is_not_promised(ridge: Keeper) -> None:
    """A larva was seen in the lot."""
    ridge.types("observe", "larvae", "--of", "ridge-2/a")
    assert "ridge-2/a is stopped" in ridge.types("want", "2", "packages", "of", "a", "by", SATURDAY, refused=True)


@pytest.mark.parametrize("words", ["a dozen", "12 packages of zz by sat 5 sep 08:00", "12 packages of a by yesterday 08:00", "12 packages of a by market"])
def test_words_that_say_no_want_are_refused(ridge: Keeper, words: str) -> None:
    """What to write stands with it, and nothing is recorded."""
    assert "write" in ridge.types("want", *words.split(), refused=True)
    assert ridge.view.happened.wants == ()


def test_who_wants_it_stays_in_the_ledger(tmp_path: Path, ridge: Keeper) -> None:
    """No plan, agenda or calendar names a buyer."""
    ridge.types("want", "40", "jars", "of", "b", "by", SATURDAY, "--for", "Ottilie Quarck")
    said = [ridge.types("agenda", "--all"), ridge.types("want"), ridge.types("why", "b/crate-jars")]
    ridge.types("calendar", "--all", "--out", str(tmp_path / "plan.ics"))
    said.append((tmp_path / "plan.ics").read_text(encoding="utf-8"))
    assert not [text for text in said if "Quarck" in text]
    assert "Crate 40 jars" in said[0]


def test_a_want_is_over_two_days_after_its_time(ridge: Keeper) -> None:
    """What was never taken out for it is not overdue for ever."""
    ridge.types("want", "12", "packages", "of", "a", "by", SATURDAY)
    ridge.waits_until("2026-09-08T19:00")
    assert not ridge.has("a/thaw.1")


def test_market_is_the_next_opening_of_the_yards_own(tmp_path: Path, ridge: Keeper) -> None:
    """Saturdays from eight, as its yard file says."""
    text = (ridge.folder / "yard.yaml").read_text(encoding="utf-8") + 'market: {sat: "08:00-13:00"}\n'
    (tmp_path / "yard.yaml").write_text(text, encoding="utf-8")
    ridge.types("init", "--from", str(tmp_path / "yard.yaml"))
    assert "by Sat 15 Aug 08:00" in ridge.types("want", "40", "jars", "of", "b", "by", "market")


def test_a_thaw_told_in_the_words_of_before_is_still_done(ridge: Keeper) -> None:
    """A ledger that recorded the thaw of a whole lot, before wants were known, keeps it."""
    ridge.waits_until("2026-08-20T20:00").types("done", "ridge-2/a/thaw", "--whole", "--at", "2026-08-19T20:00", "--yes")
    assert ridge.task("a/thaw").status == "done"
    assert [task.id for task in ridge.plan.tasks if task.rule == "cut comb/thaw"] == ["ridge-2/a/thaw"]
