"""What a yard file says fits the rules and the harvests, or is refused at its place."""

from __future__ import annotations

from pathlib import Path

from tests.keeper import Keeper


def test_a_harvest_whose_pieces_fit_no_freezer_is_not_logged(ridge: Keeper, tmp_path: Path) -> None:
    """The freezer's place in the yard file is named."""
    yard = (ridge.folder / "yard.yaml").read_text(encoding="utf-8").replace("space: 90 L", "space: 0.2 L").replace("space: 60 L", "space: 0.1 L")
    (tmp_path / "yard.yaml").write_text(yard, encoding="utf-8")
    ridge.types("init", "--from", "yard.yaml")
    text = ridge.types("log", str(ridge.folder / "ridge-2.yaml"), refused=True)
    assert "yard.yaml:9:" in text
    assert "one packed piece of ridge-2/a takes" in text
