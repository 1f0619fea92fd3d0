"""What a reader asks of rules: how old a number is, and how a card reads."""

from __future__ import annotations

import pytest
import yaml

from scheduler.diagnostics import Fault
from scheduler.rules.card_check import marked
from scheduler.rules.listing import as_yaml, cutoff
from scheduler.rules.load import load
from scheduler.rules.schema import Card
from scheduler.rules.short_forms import AmountOf, as_lines, of_lines

BRACKETS = {ord(sign): None for sign in "()"}


@pytest.mark.parametrize(
    ("age", "as_of", "day"),
    [("3y", "2026-11-25", "2023-11-25"), ("1 y", "2024-02-29", "2023-02-28"), ("18 months", "2026-03-31", "2024-09-30"), ("90 d", "2026-11-25", "2026-08-27")],
)
def test_an_age_counts_back_by_the_calendar(age: str, as_of: str, day: str) -> None:
    """Years and months end on the last day of a shorter month."""
    assert cutoff(age, as_of).isoformat() == day


@pytest.mark.parametrize(
    ("age", "as_of", "said"),
    [
        ("3", "2026-11-25", '"3" is not an age'),
        ("3 moons", "2026-11-25", '"3 moons" is not an age'),
        ("3y", "yesterday", '"yesterday" is not a date'),
        ("9999y", "2026-11-25", '"9999y" reaches back before the calendar'),
    ],
)
def test_nonsense_for_an_age_is_refused(age: str, as_of: str, said: str) -> None:
    """With what to write instead."""
    with pytest.raises(Fault, match=said) as refused:
        cutoff(age, as_of)
    assert refused.value.write


def amounts() -> list[tuple[str, str]]:
    """The amounts of the bundled cards, each with its card."""
    return [(card.key, one.text) for card in load().cards for one in marked(card.card) if isinstance(one.mark, AmountOf)]


def test_the_lines_of_a_first_match_list_are_shown_as_they_are_written() -> None:
    """Whatever a bundled card says, its lines make the same amount again; lists and tables are found among them."""
    found = [(text, as_lines(text)) for _, text in amounts()]
    assert all(str(of_lines(lines)).translate(BRACKETS) == text.translate(BRACKETS) for text, lines in found)
    assert sum(isinstance(lines, list) for _, lines in found) > 10
    assert not [text for text, lines in found if ", otherwise " in text and not ("(" in text or isinstance(lines, list))]


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("2 h", "2 h"),
        ("1 h if beetle was seen, otherwise 2 h", [{"is": "1 h", "if": "beetle was seen"}, "2 h"]),
        (
            "(smaller of $a and $b) if (there are jars or there are packages), otherwise $c",
            [{"is": "smaller of $a and $b", "if": "there are jars or there are packages"}, "$c"],
        ),
        (
            "1 h if there are jars, (2 h if beetle was seen, otherwise 3 h) if there are packages, otherwise 4 h",
            [{"is": "1 h", "if": "there are jars"}, {"is": "2 h if beetle was seen, otherwise 3 h", "if": "there are packages"}, "4 h"],
        ),
        (
            "(1 h if there are jars, otherwise 2 h) plus (3 h if there are jars, otherwise 4 h)",
            "(1 h if there are jars, otherwise 2 h) plus (3 h if there are jars, otherwise 4 h)",
        ),
        ("by frame (shallow 1 h, medium 2 h, deep 3 h)", {"by frame": {"shallow": "1 h", "medium": "2 h", "deep": "3 h"}}),
        ("by frame (shallow 1 L, medium 2 L, deep 3 L) each jar", "by frame (shallow 1 L, medium 2 L, deep 3 L) each jar"),
    ],
)
def test_an_amount_is_cut_into_lines_outside_brackets_alone(text: str, lines: object) -> None:
    """What stands in a bigger amount stays in its line."""
    assert as_lines(text) == lines


def test_a_card_is_shown_with_a_line_for_each_of_its_cases() -> None:
    """As YAML that says the same when it is put into a rule file."""
    card = load().by_key["every lot/work-up deadline"]
    shown = as_yaml(card)
    assert "\n  - {is: $work-up limit where it sets, if: the honey is quick to set}\n  - $work-up limit\n" in shown
    again = Card.model_validate(yaml.safe_load(shown))
    assert [one.text.translate(BRACKETS) for one in marked(again)] == [one.text.translate(BRACKETS) for one in marked(card.card)]
