"""Lines for a terminal."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.text.wrapping import Pen

WORDS = st.lists(st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=12), min_size=1, max_size=30).map(" ".join)


@given(WORDS, st.integers(20, 100), st.integers(0, 6))
def test_no_word_is_lost_or_broken_and_no_line_is_too_long(text: str, width: int, indent: int) -> None:
    """Every word here is shorter than a line."""
    lines = list(Pen(width, colour=False).wrapped(text, first="- ", indent=indent))
    assert " ".join(lines).removeprefix("- ").split() == text.split()
    assert all(len(line) <= width + 2 for line in lines)
    assert all(line.startswith(" " * indent) for line in lines[1:])


def test_colour_is_put_round_the_words_and_not_round_the_indent() -> None:
    """A line that is read by a screen reader, or copied, begins with its words."""
    plain, painted = (list(Pen(20, colour).wrapped("one two three four five", indent=4, style="warning")) for colour in (False, True))
    assert plain == ["    one two three", "    four five"]
    assert painted == ["    \x1b[1;31mone two three\x1b[0m", "    \x1b[1;31mfour five\x1b[0m"]


def test_nothing_is_still_a_line() -> None:
    """With what stands before it; only a word longer than the whole line is broken."""
    assert list(Pen(20, colour=False).wrapped("", first=" - ")) == [" - "]
    assert list(Pen(24, colour=False).wrapped("ridge-2/a/freeze-comb.1", indent=4)) == [" ridge-2/a/freeze-comb.1"]
    assert list(Pen(12, colour=False).wrapped("ridge-2/a/freeze-comb.1", indent=4)) == ["ridge-2/a/fr", "eeze-comb.1"]


def test_a_word_that_does_not_fit_behind_the_indent_stands_further_left() -> None:
    """An id of 32 characters on a terminal of 40; the words before it keep their column."""
    lines = list(Pen(40, colour=False).wrapped("Cut, spin or freeze [levee-1/liquid/work-up-deadline]", first=" Thu 13 Aug 11:00 ", indent=18))
    assert lines == [" Thu 13 Aug 11:00 Cut, spin or freeze", "       [levee-1/liquid/work-up-deadline]"]
    assert max(map(len, Pen(40, colour=False).wrapped("w" * 100, first=" Thu ", indent=5))) == 40


def test_a_first_word_that_does_not_fit_leaves_the_lead_by_itself() -> None:
    """The clock stays readable."""
    assert list(Pen(20, colour=False).wrapped("m" * 18, first=" 17:30 ", indent=7)) == [" 17:30", "  " + "m" * 18]
