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
    """With what stands before it; a word longer than the line stands out."""
    assert list(Pen(20, colour=False).wrapped("", first=" - ")) == [" - "]
    assert list(Pen(10, colour=False).wrapped("ridge-2/a/freeze-comb.1", indent=4)) == ["    ridge-2/a/freeze-comb.1"]
