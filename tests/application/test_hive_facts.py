"""What is reported of hives: foulbrood, treatments, and a lot let go on; what cannot be so is refused with what to write. The yard is the invented example."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from scheduler.application.hive_facts import UNSAID, Medicine, done_by_hive, foulbrood, noticed_at, questions, release, treatment
from scheduler.diagnostics import Fault
from tests.keeper import Keeper

TODAY = date(2026, 8, 11)  # eight in the evening


def test_what_was_seen_on_another_day_was_seen_at_its_noon(ridge: Keeper) -> None:
    """And today it is now; tomorrow nobody has seen anything."""
    assert noticed_at(TODAY, ridge.now, ridge.view) == ridge.now
    assert noticed_at(TODAY - timedelta(1), ridge.now, ridge.view) == ridge.moment("2026-08-10T12:00")
    with pytest.raises(Fault, match="2026-08-12 is still to come"):
        noticed_at(TODAY + timedelta(1), ridge.now, ridge.view)


def test_foulbrood_stops_the_lots_of_its_hive(ridge: Keeper) -> None:
    """The answer says what to do at the hive, and which lots are stopped."""
    words, fact = foulbrood(ridge.view, "", "north", TODAY, ridge.now)
    assert (fact.hive, fact.suspected) == ("north", True)
    assert "Close the hive" in words
    assert words.endswith("Stopped: ridge-2/a, ridge-2/b, ridge-2/c")


def test_one_suspicion_needs_no_name_to_be_withdrawn_and_two_do(ridge: Keeper) -> None:
    """ "foulbrood no" means the one hive that is suspected."""
    ridge.types("observe", "foulbrood", "--of", "north")
    assert foulbrood(ridge.view, "no", None, TODAY, ridge.now)[1].hive == "north"
    ridge.types("observe", "foulbrood", "--of", "ridge")
    with pytest.raises(Fault, match="in which hive"):
        foulbrood(ridge.view, "no", None, TODAY, ridge.now)


@pytest.mark.parametrize(
    ("words", "hive", "said", "write"),
    [
        ("maybe", "north", '"foulbrood maybe" is not understood', "foulbrood no --of HIVE"),
        ("", None, "in which hive", "--of north or --of ridge"),
        ("", "nroth", 'no harvest names the hive "nroth"', '"north"'),
        ("no", "north", "is not suspected", "afterpull agenda"),
    ],
)
def test_what_can_not_be_said_of_foulbrood_is_refused(ridge: Keeper, words: str, hive: str | None, said: str, write: str) -> None:
    """With what to write instead."""
    with pytest.raises(Fault, match=said) as refused:
        foulbrood(ridge.view, words, hive, TODAY, ridge.now)
    assert write in refused.value.write


def test_a_treatment_tells_its_wait_and_ends_once(ridge: Keeper) -> None:
    """The yard treats with formic acid; what is said of the wait is the table's, and the label overrules."""
    words, fact = treatment(ridge.view, True, "north", UNSAID, ridge.now)
    assert words.startswith("Treatment of north with formic acid began Tue 11 Aug 20:00. No super and no wet frame")
    assert words.endswith("the label overrules")
    assert (fact.begins, fact.active) == (True, None)
    ridge.types("observe", "treatment", "begins", "--of", "north")
    ended, fact = treatment(ridge.view, False, "north", UNSAID, ridge.now + 60)
    assert (ended.startswith("Treatment of north ended"), fact.begins) == (True, False)


@pytest.mark.parametrize(
    ("begins", "hive", "active", "said"),
    [
        (True, None, None, "of which hives"),
        (True, "nroth", None, 'no harvest names the hive "nroth"'),
        (True, "north", "formik acid", "is not in the table of active ingredients"),
        (False, "north", "formic acid", "are said where a treatment begins"),
        (False, "north", None, "no treatment of north was begun"),
    ],
)
def test_what_can_not_be_said_of_a_treatment_is_refused(ridge: Keeper, begins: bool, hive: str | None, active: str | None, said: str) -> None:
    """Nobody, nobody known, nothing known, at the wrong end, and one that never began."""
    with pytest.raises(Fault, match=said) as refused:
        treatment(ridge.view, begins, hive, Medicine(active), ridge.now)
    assert refused.value.write


def test_a_hive_is_under_one_treatment_at_a_time_and_all_hives_may_follow(ridge: Keeper) -> None:
    """ "all" is said of the apiary, one hive of which may be ahead."""
    ridge.types("observe", "treatment", "begins", "--of", "north")
    with pytest.raises(Fault, match="north is under a treatment already"):
        treatment(ridge.view, True, "north", UNSAID, ridge.now + 60)
    assert treatment(ridge.view, True, "all", UNSAID, ridge.now + 60)[1].hive == "all"


def test_a_treatment_marked_hive_by_hive_begins_and_then_ends(ridge: Keeper) -> None:
    """Of each hive by itself; another card is not done so."""
    assert [fact.begins for _, fact in done_by_hive(ridge.view, "treatment", ["north", "ridge"], ridge.now)] == [True, True]
    ridge.types("observe", "treatment", "begins", "--of", "north")
    assert [fact.begins for _, fact in done_by_hive(ridge.view, "treatment", ["north", "ridge"], ridge.now + 60)] == [False, True]
    with pytest.raises(Fault, match="close-up is not done hive by hive"):
        done_by_hive(ridge.view, "close-up", ["north"], ridge.now)


def test_a_pull_under_a_treatment_is_asked_about(ridge: Keeper) -> None:
    """Strips that went in a week before; a harvest that was not just logged is not asked about again."""
    assert list(questions(ridge.view, ["ridge-2"])) == []
    ridge.types("observe", "treatment", "begins", "--of", "north", "--with", "amitraz", "--at", "2026-08-04T18:00")
    [asked] = questions(ridge.view, ["ridge-2"])
    assert asked.startswith("ridge-2: north was under a treatment with amitraz or within its wait (since Tue 4 Aug 18:00).")
    assert list(questions(ridge.view, ["ridge-3"])) == []


@pytest.mark.parametrize(
    ("lot", "because", "said"),
    [("z", "the label", 'no lot is called "z"'), ("a", " ", "a lot is let go on for a reason")],
)
def test_a_lot_goes_on_by_its_name_and_for_a_reason(ridge: Keeper, lot: str, because: str, said: str) -> None:
    """What nothing stops is not let go on either."""
    with pytest.raises(Fault, match=r"nothing stops ridge-2/a"):
        release(ridge.view, "a", "the label", ridge.now)
    ridge.types("observe", "foulbrood", "--of", "north")
    words, fact = release(ridge.view, "a", "the inspector says so", ridge.now)
    assert (words, fact.lot) == ("ridge-2/a goes on (foulbrood): the inspector says so", "ridge-2/a")
    with pytest.raises(Fault, match=said):
        release(ridge.view, lot, because, ridge.now)
