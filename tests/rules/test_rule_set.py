"""Which card a name means, what a number is in SI, and who is cited. The cards are invented."""

from __future__ import annotations

import pytest

from scheduler.diagnostics import Fault
from scheduler.documents import read
from scheduler.rules.layers import checked
from scheduler.rules.parameter import Parameter, si_value
from scheduler.rules.rule_set import Rules, card_name, suggestion

CARD = "{{title: {0}, for: cut comb, why: x{1}}}"


def ruleset(name: str, cards: dict[str, str], more: str = "", *, bundled: bool = False) -> Rules:
    """A set with these cards, and what each has besides."""
    lines = "".join(f"  {card}: {CARD.format(card, extra)}\n" for card, extra in cards.items())
    one = checked(read(f"ruleset: {name}\nversion: 1\n{more}tasks:\n{lines}".encode(), f"{name}.yaml"))
    return Rules({name: one._replace(bundled=bundled)})


def together(*several: Rules) -> Rules:
    """Sets that lie beside each other."""
    return Rules({name: one for rules in several for name, one in rules.sets.items()})


def test_a_name_is_a_card_of_its_own_set_first() -> None:
    """Then the only one so named; a whole key always."""
    both = together(ruleset("a", {"pack": "", "cut": ""}), ruleset("b", {"pack": ""}))
    assert [both.resolve(of, "pack") for of in ("a", "b")] == ["a/pack", "b/pack"]
    assert both.resolve("b", "cut") == "a/cut"
    assert both.resolve("b", "a/pack") == "a/pack"
    with pytest.raises(Fault, match='several cards are named "pack"') as refused:
        both.resolve("", "pack")
    assert refused.value.write == '"a/pack" or "b/pack"'


def test_a_keepers_card_does_not_change_what_a_bundled_name_means() -> None:
    """Beside two bundled ones of the name it would make it doubtful."""
    bundled = together(ruleset("a", {"cut": ""}, bundled=True), ruleset("b", {"pack": ""}, bundled=True))
    mine = together(bundled, ruleset("mine", {"cut": ""}))
    assert mine.resolve("b", "cut") == "a/cut"
    assert mine.resolve("mine", "cut") == "mine/cut"


def test_a_former_name_leads_to_the_card_of_today() -> None:
    """With the set before it or without; one that nobody knows is answered with the nearest."""
    rules = ruleset("a", {"close up": ", formerly: cover", "cut": ""})
    assert rules.renamed == {"cover": "close up"}
    assert [rules.resolve("", name) for name in ("cover", "a/cover")] == ["a/close up", "a/close up"]
    with pytest.raises(Fault, match='no card is named "cutt"') as refused:
        rules.resolve("", "cutt")
    assert refused.value.write == '"cut"'


def test_cards_come_after_those_their_existence_hangs_on() -> None:
    """However they stand in the file; a ring does not hang the program."""
    rules = ruleset("a", {"thaw": ", with: freeze", "freeze": ", instead of: chill", "chill": ""})
    assert [card_name(card.key) for card in rules.in_order] == ["chill", "freeze", "thaw"]
    assert rules.has_alternative == {"a/chill"}
    ring = ruleset("a", {"one": ", with: two", "two": ", with: one"})
    assert len(ring.in_order) == 2


def test_a_source_is_the_sets_own_before_that_of_another() -> None:
    """One that nobody has is cited by its name, and lint refuses it."""
    source = "sources: {{W1: {{by: {0}, title: T, where: p. 1, year: 2011}}}}\n"
    rules = together(ruleset("a", {"cut": ", source: W1"}, source.format("Own")), ruleset("b", {"pack": ""}, source.format("Other")))
    assert [rules.citation(of, "W1") for of in ("a", "b")] == ["Own, T (2011), p. 1", "Other, T (2011), p. 1"]
    assert rules.by_key["a/cut"].sources == ("Own, T (2011), p. 1",)
    assert rules.citation("a", "W9") == "W9"


@pytest.mark.parametrize(
    ("value", "measures", "expected"),
    [
        ("12 h", None, (43_200.0, "duration")),
        ("10 K", None, (10.0, "temperature difference")),
        ("10 °C", "temperature difference", (10.0, "temperature difference")),
        ("10 °C", None, (10.0, "temperature")),
        (3, None, (3.0, "count")),
        (True, None, (True, "yes or no")),
        ("shallow", None, ("shallow", "word")),
        ("number 9", "word", ("number 9", "word")),
    ],
)
def test_a_number_is_si_with_its_dimension(value: str | bool | int, measures: str | None, expected: tuple[object, str]) -> None:
    """By its unit, or by what it is said to measure; words and yes and no stay as they are."""
    assert si_value(Parameter.model_validate({"value": value, "basis": "assumed", "checked": "2026-11-25", "measures": measures})) == expected


def test_of_names_that_are_near_one_is_suggested() -> None:
    """Where none is, what was to be said otherwise."""
    assert suggestion("drian", ["drain", "pack"]) == '"drain"'
    assert suggestion("zzz", ["drain", "pack"], "a name") == "a name"
    assert suggestion("zzz", ["drain", "pack"]) == "one of: drain, pack"
