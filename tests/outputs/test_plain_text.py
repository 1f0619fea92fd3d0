"""Text that people typed cannot order a terminal about, nor turn a line round."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.plain_text import one_line, paragraphs


@given(st.text(st.characters(exclude_categories=())))
def test_nothing_that_a_display_obeys_is_left(text: str) -> None:
    """No control but the line end, no half surrogate, no embedding or override."""
    left = paragraphs(text)
    assert {char for char in left if unicodedata.category(char) in ("Cc", "Cs")} <= {"\n"}
    assert not set(left) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
    assert "\n" not in one_line(text)
    assert paragraphs(left) == left


@pytest.mark.parametrize(
    ("typed", "shown"), [("Drain\x1b[2J rack", "Drain [2J rack"), ("north\r\nridge", "north ridge"), ("  a \t b ", "a b"), ("čebele 蜜蜂 🐝", "čebele 蜜蜂 🐝")]
)
def test_a_title_is_one_line(typed: str, shown: str) -> None:
    """What stays is what was meant."""
    assert one_line(typed) == shown
