"""What is wrong, where, and what to write instead."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import LISTED, Diagnostic, Refused, instead, nearest, without_passwords

WORDS = st.text(st.characters(categories=["L", "N"], include_characters="-_"), min_size=1, max_size=12)


def test_a_fault_says_where_what_and_the_cure() -> None:
    """A fault of the file as a whole has no line; one without a cure says nothing more."""
    assert str(Diagnostic("yard.yaml", 3, 7, "it is wrong", "it right")) == "yard.yaml:3:7: it is wrong\n    write it right"
    assert str(Diagnostic("yard.yaml", 0, 0, "it is wrong")) == "yard.yaml: it is wrong"


def test_faults_come_in_the_order_of_their_places() -> None:
    """Whichever was found first; line 10 after line 9."""
    found = [Diagnostic("b", 1, 1, "x"), Diagnostic("a", 10, 1, "x"), Diagnostic("a", 9, 2, "x"), Diagnostic("a", 9, 1, "y")]
    assert [one[:3] for one in Refused(found).diagnostics] == [("a", 9, 1), ("a", 9, 2), ("a", 10, 1), ("b", 1, 1)]


@given(WORDS, WORDS, WORDS)
def test_no_password_of_an_address_is_ever_shown(user: str, password: str, host: str) -> None:
    """In an address, and as a setting of a connection, quoted or not."""
    secret = f"{password}5ecret"
    for text in (
        f"postgresql://{user}:{secret}@{host}/db",
        f"https://:{secret}@{host}/",
        f"host={host} password={secret} user={user}",
        f'PWD = "{secret}"',
        f"passwd='{secret}' x",
    ):
        shown = str(Diagnostic("ledger", 0, 0, f"no answer from {text}", text))
        assert secret not in shown
        assert without_passwords(without_passwords(text)) == without_passwords(text)


@pytest.mark.parametrize("text", ["2026-08-11T10:30@home", "mail kim@example.org: 5 pm", "yard.yaml:3:7: a colon: and an @"])
def test_what_holds_no_password_is_shown_as_it_is(text: str) -> None:
    """Times and mail addresses."""
    assert without_passwords(text) == text


@pytest.mark.parametrize(("word", "near"), [("frezer", "freezer"), ("drain rak", "drain rack"), ("zzz", None)])
def test_a_slip_of_the_pen_is_answered_with_the_word_that_was_meant(word: str, near: str | None) -> None:
    """First the nearest, then the rest; where none is near, all of them."""
    known = ["drain rack", "freezer", "settling tank"]
    assert nearest(word, known) == near
    assert instead(word, known).startswith(f'"{near}" (known here: ' if near else "one of: drain rack, ")


def test_a_long_list_is_cut() -> None:
    """Nobody reads a thousand names; the nearest is told all the same."""
    known = [f"hive {number}" for number in range(1000)]
    told = instead("hive 999x", known)
    assert told.startswith('"hive 999"')
    assert told.count(",") == LISTED - 1
