"""Checksums tell apart whatever is not the same, and the sum sees what is gone or has changed its place."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scheduler.ledger.checksums import NOTHING, added, checksum, of_fact, of_publications

VALUES = st.lists(st.one_of(st.text(max_size=8), st.integers(), st.none(), st.binary(max_size=8)), max_size=4)


@given(VALUES, VALUES)
def test_two_rows_have_one_checksum_only_where_they_are_the_same(one: list[object], other: list[object]) -> None:
    """Types and borders count: 1 is not "1", and "ab", "c" is not "a", "bc"."""
    same = [(type(value), value) for value in one] == [(type(value), value) for value in other]
    assert (checksum(*one) == checksum(*other)) is same


def test_a_border_that_moves_is_seen() -> None:
    """By hand, for chance rarely makes such a pair."""
    assert (
        len({checksum("ab", "c"), checksum("a", "bc"), checksum("abc"), checksum("abc", ""), checksum(1), checksum("1"), checksum(b"1"), checksum(None)}) == 8
    )
    assert checksum("a", "b") != checksum("astr b")  # a text that looks like two
    assert len(of_fact("a" * 32, 1, "{}")) == 32


@given(st.lists(st.tuples(st.integers(1, 50), st.text(max_size=4)), min_size=2, max_size=8, unique_by=lambda one: one[0]), st.data())
def test_the_sum_of_facts_sees_one_that_is_gone_or_moved(rows: list[tuple[int, str]], data: st.DataObject) -> None:
    """Which the checksum of one alone cannot."""

    def summed(some: list[tuple[int, str]]) -> tuple[object, object]:
        sum_ = NOTHING
        for sequence, body in some:
            sum_ = added(sum_, sequence, checksum(body))
        return sum_

    gone = data.draw(st.integers(0, len(rows) - 1))
    assert summed(rows[:gone] + rows[gone + 1 :]) != summed(rows)
    assert summed(rows[::-1]) != summed(rows)
    assert summed([(sequence + 1, body) for sequence, body in rows])[1] != summed(rows)[1]


@given(st.lists(st.text(max_size=6), max_size=6), st.randoms())
def test_what_was_published_may_be_read_in_any_order(each: list[str], chance: object) -> None:
    """Its rows have none; one more or one less is seen."""
    shuffled = [*each]
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert of_publications(shuffled) == of_publications(each)
    assert of_publications([*each, "more"]) != of_publications(each)
