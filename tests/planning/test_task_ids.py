"""The ids of tasks, which lie in ledgers and calendars: what they are made of, and what a person may type of them."""

from __future__ import annotations

import pytest

from scheduler.planning.task_ids import current, ends_with, last_part, repeated, slug_of, subject_of, task_id, without_subject


@pytest.mark.parametrize(
    ("task", "subject", "typed", "last", "slug"),
    [
        ("ridge-2/a/freeze.2", "ridge-2", "a/freeze.2", "freeze.2", "freeze"),
        ("ridge-2/a/freeze.2.3", "ridge-2", "a/freeze.2.3", "freeze.2.3", "freeze"),
        ("ridge-2/give-back", "ridge-2", "give-back", "give-back", "give-back"),
        ("yard-2026/mouse-guard", "yard-2026", "mouse-guard", "mouse-guard", "mouse-guard"),
        ("ridge-2/a/wait-2", "ridge-2", "a/wait-2", "wait-2", "wait-2"),
    ],
)
def test_an_id_is_read_back_part_by_part(task: str, subject: str, typed: str, last: str, slug: str) -> None:
    """Whose it is, what is typed where there is one harvest, and the card without numbers of batch and repetition."""
    assert (subject_of(task), without_subject(task), last_part(task), slug_of(task)) == (subject, typed, last, slug)


def test_an_id_is_made_of_subject_card_batch_and_repetition() -> None:
    """The third look at the second batch; a card of the whole harvest has neither."""
    assert task_id("ridge-2", "give back") == "ridge-2/give-back"
    assert repeated(task_id("ridge-2/a", "look again", 2), 3) == "ridge-2/a/look-again.2.3"


@pytest.mark.parametrize(
    ("typed", "meant"), [("freeze", True), ("a/freeze", True), ("freeze.1", True), ("ridge-2/a/freeze", True), ("eeze.1", False), ("freeze.2", False)]
)
def test_the_end_of_an_id_is_enough_and_the_first_batch_needs_no_number(typed: str, meant: bool) -> None:
    """Whole parts of it only."""
    assert ends_with("ridge-2/a/freeze.1", typed) is meant


@pytest.mark.parametrize(
    ("typed", "now"),
    [
        ("ridge-2/a/drip.2", "ridge-2/a/drain-comb.2"),
        ("drip.2", "drain-comb.2"),
        ("a/drip", "a/drain-comb"),
        ("ridge-2/a/drip-tray", "ridge-2/a/drip-tray"),
        ("ridge-2/drip/cut", "ridge-2/drip/cut"),
    ],
)
def test_an_id_of_a_card_that_was_renamed_is_that_of_the_card_of_today(typed: str, now: str) -> None:
    """With its numbers; a lot or another card of a like name is left alone."""
    assert current(typed, {"drip": "drain comb"}) == now
    assert current(typed, {}) == typed
