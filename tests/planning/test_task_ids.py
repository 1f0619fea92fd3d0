"""The ids of tasks, which lie in ledgers and calendars: what they are made of, and what a person may type of them."""

from __future__ import annotations

from base64 import b32encode
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.planning.task_ids import coded, codes, current, ends_with, former, last_part, repeated, slug_of, subject_of, task_id, without_subject


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


def test_a_task_is_known_by_the_ids_it_had_before() -> None:
    """With the numbers of batch and repetition; `current` leads back from each."""
    renamed = {"put in the cold": "freeze", "chill": "freeze", "rack": "drain"}
    assert former("ridge-2/a/freeze.2.3", renamed) == ["ridge-2/a/put-in-the-cold.2.3", "ridge-2/a/chill.2.3"]
    assert all(current(one, renamed) == "ridge-2/a/freeze.2.3" for one in former("ridge-2/a/freeze.2.3", renamed))
    assert former("ridge-2/a/spin", renamed) == []


def test_a_code_is_the_beginning_of_the_digest_and_is_the_same_in_every_plan() -> None:
    """Worked out by hand from the two standards: SHA-256, then base 32 (RFC 4648). What else a plan holds changes nothing."""
    spelt = b32encode(sha256(b"ridge-2/a/freeze.1").digest()).decode()
    assert codes(["ridge-2/a/freeze.1"]) == {"ridge-2/a/freeze.1": spelt[:6]}
    assert codes(["ridge-2/a/freeze.1", "ridge-2/a/freeze.2"])["ridge-2/a/freeze.1"] == spelt[:6]


def test_two_tasks_whose_codes_begin_alike_are_told_apart_and_the_short_code_means_either() -> None:
    """Found by trying: with five bits a sign, two of 60,000 ids begin alike. A label printed before the other came is then answered by a choice."""
    first: dict[str, str] = {}
    for number in range(60_000):
        task = f"ridge-{number}/a/freeze.1"
        short = b32encode(sha256(task.encode()).digest()).decode()[:6]
        if short in first:
            break
        first[short] = task
    pair = [first[short], task]
    found = codes([*list(first.values())[:50], *pair])
    longer = [found[one] for one in pair]
    assert [one[:6] for one in longer] == [short, short]
    assert len(set(longer)) == 2
    assert all(len(one) > 6 for one in longer)
    assert coded(pair, short.lower()) == pair
    assert [coded(pair, one) for one in longer] == [[one] for one in pair]


@given(st.lists(st.text(max_size=20), unique=True, max_size=40))
def test_every_code_leads_back_to_its_task_however_it_is_typed(tasks: list[str]) -> None:
    """In lower case, with spaces around, with digits read for the letters that look like them."""
    for task, code in codes(tasks).items():
        assert coded(tasks, f" {code.lower()} ") == coded(tasks, code.replace("O", "0").replace("I", "1").replace("B", "8")) == [task]


@pytest.mark.parametrize("typed", ["", "ABC", "freeze.1", "a/freeze", "ABCDE!", "A" * 60])
def test_what_is_no_code_means_nothing(typed: str) -> None:
    """Too short, too long, or with signs that no code has."""
    assert coded(["ridge-2/a/freeze.1"], typed) == []
