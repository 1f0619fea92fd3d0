"""What a card says beside the others: equipment of its own, a title for a phone, cautions of the bundle. The cards are invented."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from scheduler.diagnostics import Refused
from scheduler.rules.load import check, load

CARD = """\
ruleset: mine
version: 1
tasks:
  set the comb:
    title: {title}
    how: Lids on
    for: cut comb
    why: Invented.
    occupies: {{{kind}: 2}}
"""


def advice(tmp_path: Path, title: str = "Set the comb", kind: str = "freezer") -> list[str]:
    """What is advised of a card, and nothing is refused."""
    (tmp_path / "mine.yaml").write_text(CARD.format(title=title, kind=kind), encoding="utf-8")
    found = check(["mine.yaml"], beside=tmp_path)
    assert all(finding.advice for finding in found)
    return [finding.diagnostic.message.partition(": ")[2] for finding in found]


def test_equipment_that_nobody_has_is_refused(tmp_path: Path) -> None:
    """Of a yard without a warm room it would be planned as if there were always room; a file that declares it, or a yard that has it, knows better."""
    (tmp_path / "mine.yaml").write_text(CARD.format(title="Set the comb", kind="warm room"), encoding="utf-8")
    [found] = check(["mine.yaml"], beside=tmp_path)
    assert not found.advice
    assert (found.diagnostic.line, found.diagnostic.column) == (9, 16)
    assert found.diagnostic.message.endswith('no equipment is called "warm room", so that there would always be room in it')
    with pytest.raises(Refused, match="warm room"):
        load(["mine.yaml"], beside=tmp_path, of_yard=["freezer"])
    assert load(["mine.yaml"], beside=tmp_path, of_yard=["warm room"]).by_key["mine/set the comb"]
    (tmp_path / "mine.yaml").write_text(CARD.format(title="Set the comb", kind="warm room") + "equipment: {warm room: boxes}\n", encoding="utf-8")
    assert check(["mine.yaml"], beside=tmp_path) == []
    assert advice(tmp_path, kind="settling tank") == []


def test_a_title_is_measured_as_it_reads_with_a_lot_in_it(tmp_path: Path) -> None:
    """38 characters are seen on a phone, and what stands in braces counts as it reads."""
    assert advice(tmp_path, title='"Set {lot.pieces} pieces of {lot.kind}"') == []
    assert advice(tmp_path, title='"Set {lot.pieces} pieces of {lot.kind} in the warm room"') == [
        '"Set 20 pieces of cut comb in the warm room" has 42 characters, and a phone shows 38'
    ]


def test_a_title_of_as_many_characters_as_a_phone_shows_is_none_too_long(tmp_path: Path) -> None:
    """38 are seen."""
    assert advice(tmp_path, title="S" * 38) == []
    assert len(advice(tmp_path, title="S" * 39)) == 1


@pytest.mark.parametrize(
    ("name", "card", "told"),
    [
        ("every lot", "set apart", True),  # food safety
        ("every lot", "yeast count", True),  # a reading
        ("cut comb", "unsold", True),  # goes into the food freezer
        ("cut comb", "wash cutting tools", False),
    ],
)
def test_a_card_left_out_that_protects_food_or_gives_a_reading_is_told(name: str, card: str, told: bool, tmp_path: Path) -> None:
    """The keeper may leave it out, and knows what for; a card of comfort goes without a word."""
    (tmp_path / "mine.yaml").write_text(f"ruleset: mine\nversion: 1\nchanges: {{{name}: {{without: [{card}]}}}}\n", encoding="utf-8")
    said = [finding.diagnostic.message for finding in check(["mine.yaml"], beside=tmp_path) if finding.advice]
    assert [f'"{card}" of "{name}" protects food or gives a reading' in message for message in said] == [True] * told


@pytest.mark.parametrize(("checked", "told"), [("2096-11-25", True), ("2026-11-29", True), ("2026-11-28", False), ("2026-11-27", False)])
def test_a_number_that_was_looked_up_on_a_day_to_come_is_told_where_the_day_is_known(checked: str, told: bool, tmp_path: Path) -> None:
    """Tomorrow is today somewhere; where nobody says what day it is nothing is said."""
    text = CARD.format(title="Set the comb", kind="freezer") + "    hands: $setting\nparameters:\n  setting: {value: 5 min, basis: assumed, checked: %s}\n"
    (tmp_path / "mine.yaml").write_text(text % checked, encoding="utf-8")
    said = [finding.diagnostic for finding in check(["mine.yaml"], beside=tmp_path, today=date(2026, 11, 27))]
    assert [(one.line, one.message, one.write) for one in said] == [
        (12, f'parameter "setting" > checked: {checked} is still to come', "the day on which somebody looked it up: 2026-11-27")
    ] * told
    assert check(["mine.yaml"], beside=tmp_path) == []
