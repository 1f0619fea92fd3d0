"""A product of one's own in a ledger: whose work it is, what it meets with, and what is said once the rule file that brings it is gone."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.keeper import Keeper
from tests.rules.test_own_rules import BLOCKS

YARD = (Path(__file__).resolve().parents[2] / "examples/kestrel_bank/yard.yaml").read_text(encoding="utf-8")
HARVEST = """# INVENTED
harvest: ridge-4
pulled: 2026-08-11T10:30
hives: [north]
lots:
  - {id: b, kind: extracted, frames: 8, frame: medium, moisture: 17.9 %}
  - {id: p, kind: pressed honey, frames: 8, moisture: 17.9 %}
"""


@pytest.fixture
def pressing(new_place: str, tmp_path: Path) -> Keeper:
    """Kestrel Bank with the product that "Your own rules" describes, on the evening of a pull of two kinds."""
    keeper = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00")
    (tmp_path / "press.yaml").write_text(BLOCKS["product"][1].replace("ruleset: pressed honey", "ruleset: my press"), encoding="utf-8")
    (tmp_path / "ridge-4.yaml").write_text(HARVEST, encoding="utf-8")
    sets(keeper, tmp_path, "press.yaml")
    keeper.types("log", str(tmp_path / "ridge-4.yaml"))
    return keeper


def sets(keeper: Keeper, folder: Path, rules: str = "", more: str = "") -> str:
    """The yard file anew, with a rule file beside those it has, and more in it; what is said of it."""
    text = YARD.replace("rules: [cool temperate]", f"rules: [cool temperate, {rules}]") if rules else YARD
    (folder / "yard.yaml").write_text(f"{text}\n{more}\n", encoding="utf-8")
    return keeper.types("init", "--from", str(folder / "yard.yaml"))


def test_a_lot_of_a_product_goes_into_no_tank_with_another(pressing: Keeper) -> None:
    """Either way round; a harvest file that says so is refused too."""
    pressing.waits_until("2026-08-11T20:00").types("done", "b/spin", "b/strain", "p/press", "p/strain", "--yes")
    for task, other in (("b/settle", "p"), ("p/settle", "b")):
        said = pressing.types("done", task, "--with", other, refused=True)
        assert "ridge-4/p is pressed honey: a lot of it goes into no tank with another" in said
        assert "write ridge-4/b\n" in said


def test_somebody_takes_the_work_of_a_product_by_its_name(pressing: Keeper, tmp_path: Path) -> None:
    """And nothing of the kind that it is like."""
    sets(pressing, tmp_path, "press.yaml", 'people: {Ash: {hands: {every day: "17:00-22:00"}, takes: [pressed honey]}}')
    assert [pressing.task(one).person for one in ("p/press", "p/strain")] == ["Ash", "Ash"]
    assert pressing.task("b/spin").person is None


def test_a_lot_whose_product_nobody_brings_any_more_names_the_rule_file_that_is_missing(pressing: Keeper, tmp_path: Path) -> None:
    """Which the yard file named before, and what to write into it."""
    said = sets(pressing, tmp_path)
    assert "no plan can be made with this yard file: " in said
    assert "an earlier yard file named press.yaml too" in said
    said = pressing.types("agenda", refused=True)
    assert 'ridge-4.yaml:7:19: "pressed honey" is of a product that no rule file of the yard brings; an earlier yard file named press.yaml too' in said
    assert 'write "rules: [cool temperate, press.yaml]" in the yard file again' in said
    assert "no plan" not in sets(pressing, tmp_path, "press.yaml")
    assert pressing.has("p/press")


def test_a_rule_file_that_brings_a_product_no_longer_is_named(pressing: Keeper, tmp_path: Path) -> None:
    """An update of a pack may have left it out."""
    (tmp_path / "press.yaml").write_text("ruleset: pressed honey\nversion: 2\n", encoding="utf-8")
    said = pressing.types("agenda", refused=True)
    assert '"pressed honey" is of a product that no rule file of the yard brings; it names press.yaml' in said
    assert "write press.yaml as it was when it brought that, or another kind in the harvest file, logged again" in said
