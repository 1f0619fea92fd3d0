"""What is written in words where an expression is read gets the words for it. Parameters are invented."""

from __future__ import annotations

import pytest

from scheduler.rules.slips import amount_slip, condition_slip, unquoted, with_signs


@pytest.mark.parametrize(
    ("text", "write"),
    [
        ("1,5 h", '"1.5 h"'),
        ("10-15 min", '"15 min", or "10 min"'),
        ("10 to 15 min", '"15 min", or "10 min"'),
        ("drain floor", '"$drain floor"'),
        ("half an hour", '"12 h" or "45 min", or "$NAME" for a parameter of this file'),
    ],
)
def test_an_amount_in_words_is_told_how_it_is_written(text: str, write: str) -> None:
    """The longer end of a range first: who takes it waits long enough."""
    slip = amount_slip(text, "duration", ["drain floor"])
    assert slip is not None
    assert slip.write == write


@pytest.mark.parametrize("text", ["lot.pieces * 2.0", "q('1 h') - q('5 min')", "min(param.a, param.b)"])
def test_an_expression_is_no_slip(text: str) -> None:
    """A minus between names, a comma between arguments, a function."""
    assert amount_slip(text, "duration", ["drain floor"]) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("lot.pieces > 0.0 and room.temperature > 21.0", '"and" is not a sign'),
        ("lot.kind = 'cut comb'", '"=" is not a sign'),
        ("not lot.beetle", '"not" is not a sign'),
    ],
)
def test_a_word_among_signs_is_told(text: str, said: str) -> None:
    """The signs of an expression are &&, ||, ! and ==."""
    slip = condition_slip(text)
    assert slip is not None
    assert said in slip.message


@pytest.mark.parametrize("text", ["true", "lot.kind == 'cut and dry'", "lot.frames >= 3.0 && !lot.beetle", "lot.frames != 3.0"])
def test_a_condition_in_signs_is_no_slip(text: str) -> None:
    """Nor is a word in quotes."""
    assert condition_slip(text) is None


def test_a_word_that_something_is_compared_with_wants_quotes() -> None:
    """Elsewhere a name is a name."""
    assert unquoted("lot.kind == cut_comb", 12, "cut_comb") == "'cut comb', in quotes, for a word"
    assert unquoted("pieces > 3.0", 0, "pieces") is None


def test_the_signs_that_were_meant() -> None:
    """So that it can be said how the whole is written; what stands in quotes stays."""
    assert with_signs("lot.kind = 'cut and dry' and not lot.beetle") == "lot.kind == 'cut and dry' && ! lot.beetle"
