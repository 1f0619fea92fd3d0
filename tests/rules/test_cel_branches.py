"""Every branch of a conditional is tried by itself, in its own place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.rules.cel import Environment
from scheduler.rules.cel_branches import MOST, branches

NAMES = {"lot": {"a": 1.0, "b": 2.0}}


def nested(depth: int) -> st.SearchStrategy[tuple[str, set[float]]]:
    """An expression of nested conditionals, and every number that one of its branches could give."""
    leaf = st.integers(0, 99).map(lambda number: (f"{number}.0", {float(number)}))
    if depth == 0:
        return leaf
    inner = nested(depth - 1)
    either = st.tuples(st.sampled_from(["lot.a > lot.b", "lot.a < lot.b && '?:' != 'x'", "(lot.a > 1.0 ? true : false)"]), inner, inner)
    return st.one_of(leaf, either.map(lambda parts: (f"{parts[0]} ? ({parts[1][0]}) : {parts[2][0]}", parts[1][1] | parts[2][1])))


@given(nested(3))
def test_each_number_that_a_branch_could_give_is_given_by_one_variant(case: tuple[str, set[float]]) -> None:
    """Where the number of variants is bounded, no other number is."""
    text, numbers = case
    env, tried = Environment(NAMES), list(branches(text))
    given = {env.evaluate(one)[0] for one in (text, *tried)}
    assert given <= numbers
    assert given == numbers or len(tried) == MOST
    assert all(len(one) == len(text) for one in tried)


@pytest.mark.parametrize("text", ["lot.a", "'is it? yes: no'", "{'k': 1.0}['k']"])
def test_what_decides_nothing_has_no_branches(text: str) -> None:
    """A question in quotes and the colon of a map are none."""
    assert not list(branches(text))


@pytest.mark.parametrize("text", ["lot.a > 1.0 ? 2.0", "max(lot.a ? 1.0, 2.0) : 3.0", "[lot.a ? 1.0] : 2.0"])
def test_a_question_without_its_colon_is_left_to_cel_to_refuse(text: str) -> None:
    """A colon outside its bracket is not its own."""
    assert not list(branches(text))
