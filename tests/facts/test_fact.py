"""Facts as text: what is written down is read back, and what is not a fact is refused in words."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.facts.fact import KINDS, Fact, HarvestLogged, Reading, Retracted, TaskDone, TaskSkipped, from_json, to_json
from tests.facts.recorded import CUT, FROST, PULLED, SEASON, moments, words


@pytest.mark.parametrize("fact", SEASON, ids=lambda fact: fact.kind)
def test_a_fact_reads_back_as_it_was_written(fact: Fact) -> None:
    """Text and fact are the same thing, and the text is one line."""
    text = to_json(fact)
    assert from_json(text) == fact
    assert to_json(from_json(text)) == text
    assert "\n" not in text


def test_every_kind_of_fact_is_told_in_the_season_of_these_tests() -> None:
    """A kind without an example here would go untested; a retraction has its own tests."""
    assert {fact.kind for fact in SEASON} | {Retracted.kind} == set(KINDS)


def test_the_text_of_a_fact_stays_the_same_from_release_to_release() -> None:
    """Ledgers outlive programs: these bytes are a promise."""
    assert to_json(CUT) == '{"kind":"task-done","occurred_at":1786018000,"started_at":1786014400,"task":"ridge-2.a.cut","v":1}'
    assert to_json(FROST) == '{"kind":"observed","mark":"first frost","occurred_at":1791184000,"on":"2026-10-09","v":1}'


@given(moments, words, words, st.none() | words)
def test_any_text_a_person_types_is_kept_to_the_letter(at: int, task: str, because: str, by: str | None) -> None:
    """Umlauts, line breaks, quotation marks and control characters come back as they were."""
    fact = TaskSkipped(occurred_at=at, task=task, because=because, by=by)
    assert from_json(to_json(fact)) == fact


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Reading(occurred_at=PULLED, of="ridge-2/a", what="moisture", value=17.4), "moisture: 1740 % cannot be; between 10 % and 40 % is possible"),
        (lambda: Reading(occurred_at=PULLED, of="freezer", what="frezer temperature", value=-18.0), '"frezer temperature" is not measured here'),
        (lambda: Reading(occurred_at=PULLED, of="ridge-2/a", what="moisture", value=float("nan")), "finite number"),
        (lambda: TaskDone(occurred_at=PULLED, task="cut", started_at=PULLED + 1), "the task ends before it starts"),
        (lambda: TaskDone(occurred_at=PULLED, task=""), "task-done: task: "),
        (lambda: TaskDone(occurred_at=10**12, task="cut"), "task-done: occurred_at: "),
        (lambda: Retracted(occurred_at=PULLED), "what is taken back is not named"),
    ],
)
def test_what_can_not_have_happened_is_refused_in_words(make: Any, said: str) -> None:
    """A slip is caught where it is told, and says what is possible."""
    with pytest.raises(Fault, match=re.escape(said)) as caught:
        make()
    assert caught.value.write


def edited(**changed: Any) -> str:
    return json.dumps(json.loads(to_json(CUT)) | changed)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "this is not a fact"),
        ("[1]", "this is not a fact"),
        ("[" * 100_000, "this is not a fact"),
        (edited(kind="task-dne"), 'the kind "task-dne" is not known here'),
        (edited(v=2), "the fact is of version 2; this program reads up to 1"),
        (edited(v=None), "the fact does not say its version"),
        (edited(weather="fine"), 'task-done: unknown key "weather"'),
        (edited(occurred_at="yesterday"), "task-done: occurred_at: "),
        (edited(replaces="the last one"), "task-done: replaces: "),
    ],
)
def test_a_line_that_is_not_a_fact_is_refused_in_words(text: str, said: str) -> None:
    """A damaged, edited or newer line names what is wrong with it."""
    with pytest.raises(Fault, match=re.escape(said)) as caught:
        from_json(text)
    assert caught.value.write


def test_text_that_is_not_unicode_is_refused_before_it_is_written() -> None:
    """Half a character, as a broken file name yields it, cannot be stored and is not stored."""
    with pytest.raises(Fault, match="not Unicode"):
        to_json(HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text="", path="ridge-\udce9.yaml"))


def test_a_word_that_holds_half_a_character_is_refused() -> None:
    """One bit of a stored text has changed, so that it is no UTF-8 any more; who checks the ledger is told so."""
    with pytest.raises(Fault, match="holds what is no character"):
        Reading(occurred_at=PULLED, of="ridge-2/a", what="mois\udcf4ure", value=0.174)
