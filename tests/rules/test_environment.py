"""Expressions: what they see, what they call, and where they are wrong."""

from __future__ import annotations

import pytest

from scheduler.estimates.callable_estimates import CALLABLES
from scheduler.rules.amounts import amount
from scheduler.rules.environment import LONGEST, Environment, Parameters
from scheduler.rules.expressions import ExpressionFault
from scheduler.rules.vocabulary import SAMPLES

PARAMETERS = Parameters({"drain floor": 43_200.0, "coldest": -18.5, "wanted": True, "word": 'say "so"'})


ENV = Environment(SAMPLES, PARAMETERS)


def test_records_of_one_expression_do_not_reach_the_next() -> None:
    """Each amount has the estimates called for it and no others."""
    amount("drain_time(room.temperature, lot.moisture)", "duration", ENV)
    assert amount("lot.pieces", "count", ENV).estimates == ()


@pytest.mark.parametrize("name", sorted(CALLABLES))
def test_every_estimate_can_be_named_in_an_expression(name: str) -> None:
    """Called without arguments each says what it takes."""
    with pytest.raises(ExpressionFault, match=f"{name}: it is not called like this") as refused:
        ENV.evaluate(f"{name}()")
    assert refused.value.write.startswith(f"{name}(")
    assert "trade" not in refused.value.write  # that is given with it


def test_a_child_sees_its_own_batch_and_leaves_the_parents() -> None:
    """A batch is laid over a lot and taken off again."""
    child = ENV.child(batch={"count": 9.0, "of": 1.0, "mass": 1.0, "volume": 1.0})
    assert [one.evaluate("batch.count")[0] for one in (ENV, child, ENV, child)] == [6.0, 9.0, 6.0, 9.0]


def test_two_rule_sets_read_their_own_parameter_of_the_same_name() -> None:
    """Parameters belong to a file; lots and rooms to everybody."""
    other = ENV.with_parameters(Parameters({"drain floor": 60.0}))
    assert [amount("param.drain_floor * 1.0", "duration", one).value for one in (ENV, other, ENV)] == [43_200.0, 60.0, 43_200.0]


def test_a_parameter_inside_quotes_stays_as_written() -> None:
    """Words are words."""
    assert ENV.evaluate("'param.drain_floor' + param.word")[0] == 'param.drain_floorsay "so"'


@pytest.mark.parametrize(
    ("text", "line", "column", "told"),
    [
        ("lot.pieces +", 1, 13, "it ends too early"),
        ("lot.pieces >\n  )", 2, 3, '"\\)" stands where nothing of the kind can'),
        ("1.0 + lot.knd", 1, 7, 'nothing is named "lot.knd"'),
        ("lot.pieces > nope", 1, 14, 'nothing is named "nope"'),
        ("1.0 + lot.kind", 1, 7, 'a number is needed, and this gives "cut comb"'),
        ("lot.kind + 1.0", 1, 1, 'a number is needed, and this gives "cut comb"'),
        ("lot.kind < 1.0", 1, 1, 'a number is needed, and this gives "cut comb"'),
        ("1.0 < lot.kind", 1, 7, 'a number is needed, and this gives "cut comb"'),
        ("lot.pieces && lot.beetle", 1, 1, "a condition must give true or false, and this gives 20.0"),
        ("lot.pieces > 1.0 || $rest", 1, 21, '"\\$" is no sign of an expression'),
        ("the lot's pieces plus the lot's kind", 1, 23, "are added"),
    ],
)
def test_a_fault_of_an_expression_has_its_place(text: str, line: int, column: int, told: str) -> None:
    """Line and column inside the expression, and a caret under it."""
    with pytest.raises(ExpressionFault, match=told) as refused:
        ENV.evaluate(text)
    assert (refused.value.line, refused.value.column) == (line, column)
    assert refused.value.message.splitlines()[-1].strip() == "^"


def test_words_have_an_order() -> None:
    """That of the alphabet."""
    assert [ENV.evaluate(text)[0] for text in ("'ash' < 'oak'", "'oak' < 'ash'", "lot.kind >= 'cut comb'")] == [True, False, True]


UNREAD = Environment({**SAMPLES, "lot": {**SAMPLES["lot"], "moisture": None}}, PARAMETERS)  # nobody has put the honey on a refractometer


@pytest.mark.parametrize(
    ("text", "so"),
    [
        ("the lot's moisture is known", False),
        ("the lot's moisture is less than 18 %", False),
        ("the lot's moisture is at most 18 %", False),
        ("the lot's moisture is more than 18 %", False),
        ("18 % is at least the lot's moisture", False),
        ("the lot's moisture is not known or it is more than 18 %", True),
        ("lot.moisture < 0.18", True),  # as version 0.1 had it, where -1 stood for it
    ],
)
def test_what_is_not_known_is_neither_more_nor_less_than_anything(text: str, so: bool) -> None:
    """Honey that nobody has read is not dry enough to bottle, nor too wet."""
    assert UNREAD.evaluate(text)[0] is so


@pytest.mark.parametrize("text", ["50 % of the lot's moisture", "the lot's moisture less 1 %", "larger of the lot's moisture and 15 %"])
def test_what_is_not_known_is_not_reckoned_with(text: str) -> None:
    """The fault says what to ask first."""
    with pytest.raises(ExpressionFault, match="a number is needed, and this is not always known") as refused:
        UNREAD.evaluate(text)
    assert refused.value.write == '"... is known" before it'


def test_of_misspelt_parameters_the_sets_own_is_meant_before_one_that_is_lent() -> None:
    """Another set's number is offered where none of the set's own is near; where none is, its own are listed."""
    both = Parameters({"wait": 60.0}, Parameters({"drain floor": 43_200.0}))
    assert both.meant("drain floors") == '"drain floor"'
    assert both.meant("waits").startswith('"wait"')
    assert "drain floor" not in both.meant("zzzz")
    assert "drain floor" in Parameters(lent=Parameters({"drain floor": 1.0})).meant("zzzz")


def test_an_expression_as_long_as_one_may_be_is_read() -> None:
    """To the last sign; one more is refused, and shown from its beginning."""
    assert ENV.evaluate("1.0" + " " * (LONGEST - 3))[0] == 1.0
    with pytest.raises(ExpressionFault, match="the longest that is read has 2,000") as refused:
        ENV.evaluate("1.0" + " " * (LONGEST - 2))
    assert (refused.value.line, refused.value.column) == (1, 1)
