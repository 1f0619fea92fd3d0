"""What follows what in a rule set, as a keeper reads it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from scheduler.cli import main
from scheduler.diagnostics import Fault
from scheduler.rules.flow import flow
from scheduler.rules.load import load
from tests.planning.cards import rules

CARDS = """
cut: {title: Cut, for: cut comb, why: x}
drain:
  title: Drain
  for: cut comb
  after: {cut: within 2 h}
  hold: {at least: $floor, look at: 72 h}
  occupies: {drain rack: batch.count}
  batches: {of: lot.pieces, fits: drain rack}
  why: x
pack: {title: Pack, for: cut comb, after: [cut, drain], due: 3 d after the pull, window: on sat, why: x}
note: {title: Note, for: cut comb, alongside: pack, hands: 5 min, why: x}
look: {title: Look, for: cut comb, earliest: 14 d before first frost, repeat: "every 7 d, 3 times", window: outside robbing, lapses: true, why: x}
"""


def test_each_card_stands_behind_what_it_waits_for_with_its_numbers() -> None:
    """Holds, limits and hours in words; a parameter with its value."""
    steps = {step.name: step for step in flow(rules(CARDS), "mine")}
    assert [step.name for step in sorted(steps.values(), key=lambda step: step.depth)][:1] == ["cut"]
    assert [steps[name].depth for name in ("cut", "drain", "pack", "note", "look")] == [0, 1, 2, 3, 0]
    assert steps["drain"].says == ("after cut (within 2 h)", "holds: at least floor (12 h), looked at after 72 h", "takes batch.count of the drain rack")
    assert steps["pack"].says == ("after cut, drain", "due 3 d after the pull", "done on Saturdays")
    assert steps["note"].says == ("a line of the checklist of pack",)
    assert steps["look"].says == ("not before 14 d before first frost", "done outside robbing", "again every 7 d, 3 times")


def test_every_bundled_set_is_drawn_and_no_card_stands_before_what_it_waits_for() -> None:
    """Whatever it names; a set that is not there is refused with those that are."""
    found = load()
    for name in found.sets:
        steps = flow(found, name)
        order = [f"{name}/{step.name}" for step in steps]
        assert sorted(order) == sorted(card.key for card in found.cards if card.set == name)
        for place, key in enumerate(order):
            assert not [other for other in found.by_key[key].after if other in order[place + 1 :]]
    with pytest.raises(Fault, match='no rule set is named "cut com"'):
        flow(found, "cut com")


@pytest.mark.parametrize("columns", ["40", "80"])
def test_it_fits_the_terminal(columns: str) -> None:
    """Of a phone's shell too."""
    said = CliRunner().invoke(main, ["rules", "flow", "cut comb"], env={"COLUMNS": columns}).output
    assert "drain (cut comb, chunk honey)" in said
    assert max(map(len, said.splitlines())) <= int(columns)


def test_a_set_without_cards_says_so() -> None:
    """The table of treatments has numbers, and no card."""
    assert CliRunner().invoke(main, ["rules", "flow", "treatments"]).output == '"treatments" has no cards of its own\n'
