"""`afterpull agenda`, `why`, `season` and `freezer`, as they are typed."""

from __future__ import annotations

from tests.keeper import Keeper, section


def test_what_moved_is_told_once_and_each_part_has_its_own_last_look(ridge: Keeper) -> None:
    """A look at the apiary is no look at the whole; a second look tells nothing anew."""
    ridge.types("agenda")
    ridge.types("agenda", "--at", "honey room")
    ridge.types("skip", "b/spin", "--until", "2026-08-14T17:30")
    assert section(ridge.types("agenda", "--all"), "MOVED")
    assert "MOVED" not in ridge.types("agenda", "--all")
    assert section(ridge.types("agenda", "--at", "honey room", "--all"), "MOVED")


def test_a_part_names_itself_and_holds_no_other_work(ridge: Keeper) -> None:
    """And a word that is neither person nor place is refused with the nearest."""
    text = ridge.types("agenda", "--at", "apiary", "--all")
    assert text.startswith("Kestrel Bank, apiary, ")
    assert "b/spin" not in text
    assert '"apiary"' in ridge.types("agenda", "--at", "apiry", refused=True)
    assert "does not work in this yard" in ridge.types("agenda", "--for", "Mira", refused=True)


def test_why_takes_the_end_of_an_id_and_gives_rule_numbers_and_sources(ridge: Keeper) -> None:
    """And lists what could be meant otherwise."""
    text = ridge.types("why", "a/freeze")
    assert text.startswith("Freeze")
    assert "Time to freeze through" in text
    assert "rulesets/cut_comb.yaml" in text
    assert '"b/strain"' in ridge.types("why", "strian", refused=True)


def test_the_season_says_what_each_mark_rests_on(ridge: Keeper) -> None:
    """What was seen overrules the normal of the yard file."""
    assert "usual date" in next(line for line in ridge.types("season").splitlines() if "first frost" in line)
    ridge.waits_until("2026-10-05T08:00").types("observe", "first frost", "--on", "2026-10-05")
    assert "2026-10-05 seen or measured" in ridge.types("season")


def test_a_freezer_is_fitted_only_from_readings(ridge: Keeper) -> None:
    """Without any it says what is used and what is missing; it is not planned with, and another freezer is refused."""
    assert "not fitted" in ridge.types("freezer")
    assert ridge.types("freezer", "--use", refused=True)
    assert "cellar" in ridge.types("freezer", "cellar", refused=True)
