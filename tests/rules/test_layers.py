"""Rule files lie on each other: bundled sets, overlays, a keeper's own file, and the yard's changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.diagnostics import Refused
from scheduler.rules.load import bundled, check, load, overlays
from scheduler.rules.rule_set import Rules
from scheduler.rules.short_forms import CardRelation


def changed(**change: object) -> Rules:
    """The bundled rules with a change of the set "cut comb"."""
    return load(changes={"cut comb": change})


def test_the_bundled_rule_files_have_nothing_wrong_and_nothing_unused() -> None:
    """Neither alone nor with any overlay laid on."""
    assert check() == []


def test_the_bundled_files_are_found_by_one_line_wherever_the_program_runs() -> None:
    """Package data: every file in the folder is read, overlays only when named."""
    names = {load([overlay]).sets[overlay].document.path for overlay in overlays()} | {one.document.path for one in load().sets.values()}
    assert names == {f"rulesets/{file.name}" for file in bundled().iterdir() if file.name.endswith(".yaml")}


def test_an_overlay_counts_only_where_it_is_named() -> None:
    """Warm and humid country with beetle shortens what other yards keep."""
    assert "warm humid" not in load().sets
    assert load(["warm humid"]).parameters != load().parameters


def test_a_parameter_changed_by_its_bare_value_keeps_what_it_rests_on() -> None:
    """The basis and the source of the bundled number stay in sight, with the number that was replaced."""
    before, now = load().parameters["cut comb"]["drain floor"], changed(parameters={"drain floor": "24 h"}).parameters["cut comb"]["drain floor"]
    assert (now.value, now.replaces) == (86_400.0, before.text)
    assert (now.basis, now.sources, now.range) == (before.basis, before.sources, before.range)


def test_a_parameter_changed_as_a_mapping_is_replaced_whole() -> None:
    """A keeper's own number may stand on the keeper's own ground."""
    now = changed(parameters={"drain floor": {"value": "24 h", "basis": "assumed", "checked": "2026-11-25"}}).parameters["cut comb"]["drain floor"]
    assert (now.basis, now.sources, now.range) == ("assumed", (), None)


def test_a_card_is_changed_key_by_key_and_null_takes_a_key_away() -> None:
    """One line changes one line."""
    before, now = (
        load().card("cut comb/drain").card,
        changed(tasks={"drain": {"hold": {"wait at most": "60 h", "estimate": None}, "loss": None}}).card("cut comb/drain").card,
    )
    assert before.hold is not None
    assert now.hold is not None
    assert (now.hold.wait_at_most, now.hold.estimate, now.hold.at_least) == ("60 h", None, before.hold.at_least)
    assert (now.title, now.loss) == (before.title, "comfort")


def test_later_layers_lie_on_earlier_ones(tmp_path: Path) -> None:
    """A keeper's file changes a bundled card, and the yard changes that again."""
    (tmp_path / "mine.yaml").write_text("ruleset: mine\nversion: 1\nchanges:\n  cut comb:\n    tasks: {drain: {hands: {before: 7 min}, loss: comfort}}\n")
    now = load(["mine.yaml"], {"cut comb": {"tasks": {"drain": {"hands": {"before": "9 min"}}}}}, beside=tmp_path).card("cut comb/drain").card
    assert (now.hands.before, now.loss) == ("9 min", "comfort")


def test_a_file_may_extend_another_and_naming_it_twice_is_naming_it_once(tmp_path: Path) -> None:
    """What is extended is laid under, once."""
    card = "tasks:\n  look:\n    title: Look\n    for: harvest\n    why: To see.\n"
    (tmp_path / "low.yaml").write_text(f"ruleset: low\nversion: 1\nextends: high.yaml\n{card}")
    (tmp_path / "high.yaml").write_text("ruleset: high\nversion: 1\nextends: [low.yaml]\nchanges: {low: {tasks: {look: {title: Look twice}}}}\n")
    assert load(["high.yaml", "low.yaml"], beside=tmp_path).card("low/look").card.title == "Look twice"


def test_a_card_left_out_is_waited_for_by_nobody() -> None:
    """Cards that came after it come after the rest."""
    rules = changed(without=["drain"])
    assert "cut comb/drain" not in rules.by_key
    assert all("cut comb/drain" not in card.after for card in rules.cards)
    assert any("cut comb/drain" in card.after for card in load().cards)


def test_what_waited_for_a_card_left_out_waits_for_what_that_one_waited_for(tmp_path: Path) -> None:
    """Along several that are left out, with the width of the relation; a lag goes with the card it was to."""
    card = "  {name}: {{title: X, for: extracted, why: x, after: {after}}}\n"
    text = "".join(
        card.format(name=name, after=after) for name, after in (("one", "spin"), ("two", "{one: at least 3 h}"), ("three", "two"), ("four", "[three, strain]"))
    )
    (tmp_path / "low.yaml").write_text(f"ruleset: low\nversion: 1\ntasks:\n{text}")
    (tmp_path / "high.yaml").write_text("ruleset: high\nversion: 1\nextends: low.yaml\nchanges: {low: {without: [two, three]}}\n")
    after = load(["high.yaml"], beside=tmp_path).card("low/four").after
    assert after == {"extracted honey/strain": CardRelation(), "low/one": CardRelation()}


def test_a_card_left_out_that_gives_a_reading_is_told(tmp_path: Path) -> None:
    """Advice, for the keeper may; a card of comfort goes without a word."""
    path = tmp_path / "mine.yaml"
    path.write_text("ruleset: mine\nversion: 1\nchanges: {every lot: {without: [moisture reading]}}\n")
    [found] = check([str(path)])
    assert found.advice
    assert '"moisture reading" of "every lot" protects food or gives a reading' in found.diagnostic.message
    path.write_text("ruleset: mine\nversion: 1\nchanges: {spring: {without: [order]}}\n")
    assert check([str(path)]) == []


def test_a_wrong_change_of_the_yard_is_refused() -> None:
    """By its name, its dimension, or what it does to a card."""
    for change, said in (
        ({"parameters": {"drain floor": "24 kg"}}, "24 kg is a mass; a duration is needed"),
        ({"parameters": {"drian floor": "24 h"}}, '"cut comb" has no parameter "drian floor"'),
        ({"tasks": {"drain": {"hold": "lot.pieces +"}}}, 'card "drain" > hold > estimate: it ends too early'),
        ({"without": ["drian"]}, '"cut comb" has no card "drian"'),
    ):
        with pytest.raises(Refused, match=said):
            changed(**change)


def test_loading_again_gives_the_same_rules() -> None:
    """A change of one yard does not stay behind for the next."""
    before = load()
    changed(parameters={"drain floor": "24 h"}, without=["drain"])
    assert load().cards == before.cards
    assert load().parameters == before.parameters


def test_cards_named_by_others_come_first_where_existence_hangs_on_them() -> None:
    """With, instead of and batches: the planner must know those first."""
    seen: set[str] = set()
    for card in load(list(overlays())).in_order:
        assert seen.issuperset(card.needs)
        seen.add(card.key)


def test_every_published_number_says_where() -> None:
    """Organisation, title and place in it, in one line."""
    published = [one for found in load().parameters.values() for one in found.values() if one.basis == "published"]
    assert published
    assert all(len(source.split(", ")) >= 3 for one in published for source in one.sources)
    assert all(one.sources for one in published)


def test_a_number_that_protects_keeps_its_safe_end_through_every_layer(tmp_path: Path) -> None:
    """Whoever brings it: a later layer that leaves the word out may not make it milder than its file has it; stricter it may."""
    (tmp_path / "low.yaml").write_text(
        "ruleset: low\nversion: 1\nparameters:\n  rest: {value: 2 h, basis: assumed, checked: 2026-11-25, may be made: higher}\n"
        "tasks: {look: {title: Look, for: harvest, why: x, hands: $rest}}\n"
    )
    (tmp_path / "high.yaml").write_text(
        "ruleset: high\nversion: 1\nextends: low.yaml\nchanges: {low: {parameters: {rest: {value: 4 h, basis: assumed, checked: 2026-11-25}}}}\n"
    )
    assert load(["high.yaml"], {"low": {"parameters": {"rest": "3 h"}}}, beside=tmp_path).values["low"]["rest"] == 10_800.0
    with pytest.raises(Refused, match='"rest": 1 h is milder than 2 h, and it protects: it may only be made longer'):
        load(["high.yaml"], {"low": {"parameters": {"rest": "1 h"}}}, beside=tmp_path)
