"""Whose number a card reads: its own set's, or what one other set alone has. The sets are invented."""

from __future__ import annotations

import pytest

from scheduler.diagnostics import Refused
from scheduler.documents import read
from scheduler.rules.layers import checked
from scheduler.rules.lint import lint
from scheduler.rules.load import load
from scheduler.rules.rule_set import Rules

CARD = "tasks: {{look: {{title: Look, for: harvest, why: x, hands: {0}}}}}\n"


def sets(*several: tuple[str, dict[str, str], str]) -> Rules:
    """Sets by name, parameters and hands of the card; those whose name begins with "my" are a keeper's."""
    found = {}
    for name, numbers, hands in several:
        rows = "".join(f"  {key}: {{value: {value}, basis: assumed, checked: 2026-11-25}}\n" for key, value in numbers.items())
        text = f"ruleset: {name}\nversion: 1\n{'parameters:' if rows else ''}\n{rows}{CARD.format(hands)}"
        found[name] = checked(read(text.encode(), f"{name}.yaml"))._replace(bundled=not name.startswith("my"))
    return Rules(found)


def test_a_card_reads_its_own_sets_number_before_that_of_another() -> None:
    """As a card that it names is one of its own set first."""
    rules = sets(("a", {"rest": "1 h"}, "$rest"), ("b", {"rest": "2 h", "wait": "3 h"}, "$rest"), ("c", {}, "$wait"))
    assert [rules.values[of].get("rest") for of in ("a", "b", "c")] == [3600.0, 7200.0, None]
    assert [rules.values[of]["wait"] for of in ("a", "b", "c")] == [10_800.0] * 3
    assert rules.readable["c"]["wait"].path == "b.yaml"
    assert (rules.where_stands("a", "rest"), rules.where_stands("c", "wait")) == ("a", "b")


def test_a_keepers_number_does_not_change_what_another_set_reads() -> None:
    """Of one name the bundled one is lent; what a keeper alone has, is lent too."""
    rules = sets(("a", {"rest": "1 h"}, "$rest"), ("my own", {"rest": "2 h", "own": "5 h"}, "$rest"), ("my other", {}, "$own"))
    assert rules.values["my other"]["rest"] == 3600.0
    assert (rules.values["my own"]["rest"], rules.values["my other"]["own"]) == (7200.0, 18_000.0)


def test_a_number_that_another_set_reads_is_in_use() -> None:
    """And one that hides behind a number of the same name is not."""
    rules = sets(("a", {"rest": "1 h", "wait": "1 h"}, "$rest"), ("b", {"rest": "2 h"}, "$wait"))
    unread = [found.diagnostic for found in lint(rules) if "no card uses it" in found.diagnostic.message]
    assert [(one.path, one.line) for one in unread] == [("b.yaml", 4)]


def test_a_misspelt_number_is_answered_with_its_own_sets_first() -> None:
    """Then with what others lend."""
    rules = sets(("a", {"rest": "1 h", "long wait": "1 h"}, "$rst"), ("b", {"rust": "1 h"}, "param.long_wiat"))
    told = {found.diagnostic.path: found.diagnostic.write for found in lint(rules) if "no parameter is named" in found.diagnostic.message}
    assert told == {"a.yaml": '"rest" (known here: rest, long wait)', "b.yaml": '"long_wait"'}


def test_the_floor_of_the_freezer_stands_once_and_a_keepers_own_counts_for_every_card() -> None:
    """Where it stands it is changed for all that freeze comb; under one set that reads it, for that one."""
    floors = ("cut comb", "chunk honey", "dry comb")
    assert [of for of, found in load().parameters.items() if "freeze floor" in found] == ["freezing"]
    everywhere = load(changes={"freezing": {"parameters": {"freeze floor": "72 h"}}})
    assert [everywhere.values[of]["freeze floor"] for of in floors] == [259_200.0] * 3
    alone = load(changes={"freezing": {"parameters": {"freeze floor": "60 h"}}, "dry comb": {"parameters": {"freeze floor": "72 h"}}})
    assert [alone.values[of]["freeze floor"] for of in floors] == [216_000.0, 216_000.0, 259_200.0]
    [own] = [one for one in alone.readable["dry comb"].values() if one.name == "freeze floor"]
    assert (own.basis, own.note is None, own.replaces) == ("common practice", False, "60 h")
    assert not everywhere.old_words
    in_a_sentence = load(changes={"cut comb": {"parameters": {"eggs of any age": "40 %", "latest hatch": "6 d"}}})
    assert in_a_sentence.values["cut comb"]["eggs of any age"] == 0.4


def test_a_number_of_the_trade_is_changed_where_it_stands_whichever_set_names_it() -> None:
    """An older yard file still opens, and is told where the number is now; estimates and cards read the same."""
    for of in ("cut comb", "extracted honey"):
        rules = load(changes={of: {"parameters": {"usual moisture": "18.5 %"}}})
        assert rules.trade["usual_moisture"] == rules.values["cut comb"]["usual moisture"] == rules.values["extracted honey"]["usual moisture"] == 0.185
        [told] = rules.old_words
        assert (told.message, told.write) == (
            '"usual moisture" is a number of "every lot" now, for every card that reads it',
            '"usual moisture" under "every lot"',
        )


def test_a_number_is_not_changed_under_a_set_that_does_not_read_it() -> None:
    """It would count for nothing, so it is told where the number stands."""
    with pytest.raises(Refused, match="has no parameter") as refused:
        load(changes={"colony": {"parameters": {"freeze floor": "72 h"}}})
    [told] = refused.value.diagnostics
    assert (told.message, told.write) == ('"colony" has no parameter "freeze floor"', '"freeze floor" under "freezing"')


def test_no_number_of_the_bundled_files_stands_twice() -> None:
    """What two sets say alike one of them says; the same name for two numbers is theirs alone."""
    said = [(name, one.value) for found in load().parameters.values() for name, one in found.items()]
    assert {one for one in said if said.count(one) > 1} == set()
