"""Bundled rules are kept in their checked form for the next run, and never in place of what the files say."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from scheduler.rules import load as loading
from scheduler.rules.load import load
from scheduler.rules.rule_set import Rules

OVERLAY = ("cool temperate",)


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where rules are kept during the test; the folder of the bundled files is left alone."""
    place = tmp_path / "__pycache__" / "kept.rules"
    monkeypatch.setattr(loading, "_cache_paths", lambda layers: iter([place, tmp_path / "own" / "kept.rules"]))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    return place


def told(rules: Rules) -> object:
    """All that a plan takes from rules."""
    return rules.in_order, rules.parameters, rules.cautions, [scenario.line for scenario in rules.scenarios]


def test_kept_rules_say_what_the_files_say(kept: Path) -> None:
    """Cards, parameters of the overlay, cautions with their citations, and the places of scenarios."""
    written = load(OVERLAY)
    again = load(OVERLAY)
    assert again is not written
    assert told(again) == told(written)


def test_a_fault_in_kept_rules_is_told_at_its_line(kept: Path) -> None:
    """The places in a file are worked out again only where something is wrong there."""
    first, again = (load(OVERLAY).sets["cut comb"].document.fault(("tasks", "drain"), "wrong", key=True) for _ in range(2))
    assert first == again
    assert first.line > 1


def test_rules_are_read_anew_once_anything_they_rest_on_has_changed(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As after an upgrade, or in a checkout where somebody edits a rule file."""
    load(OVERLAY)
    monkeypatch.setattr(loading, "_stamp", lambda: ("another",))
    assert loading._cached(OVERLAY) is None
    loading._bundled_as_read.cache_clear()  # a program that starts now
    load(OVERLAY)
    assert loading._cached(OVERLAY) is not None
    loading._bundled_as_read.cache_clear()


def test_a_program_that_outlives_its_rule_files_keeps_none_of_them_for_the_next(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A watch that runs on through an upgrade has read the files of before; what it keeps must not pass for those of now."""
    loading._bundled_as_read.cache_clear()
    load(OVERLAY)
    kept.unlink()
    monkeypatch.setattr(loading, "_stamp", lambda: ("after the upgrade",))
    load(OVERLAY)
    assert loading._cached(OVERLAY) is None
    loading._bundled_as_read.cache_clear()


def test_the_stamp_names_every_rule_file_and_the_code_that_checks_it() -> None:
    """A file that is not in it could change unseen."""
    names = {Path(str(entry[0])).name for entry in loading._stamp()[1:]}
    assert {"cut_comb.yaml", "cool_temperate.yaml", "schema.py", "layers.py", "documents.py", "quantities.py"} <= names


@pytest.mark.parametrize("content", [b"", b"not rules", bytes(range(256))], ids=["empty", "text", "noise"])
def test_a_damaged_file_is_written_anew(kept: Path, content: bytes) -> None:
    """Whatever stands in it, the plan rests on the rule files; there, and nowhere else."""
    kept.parent.mkdir()
    kept.write_bytes(content)
    assert "cut comb" in load(OVERLAY).sets
    assert loading._cached(OVERLAY) is not None
    assert [file.name for file in kept.parents[1].rglob("*")] == ["__pycache__", "kept.rules"]


def test_changes_of_a_keeper_are_never_kept(kept: Path) -> None:
    """They come from the yard's file of today."""
    load(OVERLAY, {"cut comb": {"parameters": {"drain floor": "24 h"}}})
    assert not kept.exists()


def test_rules_that_can_not_be_kept_beside_their_files_are_kept_in_the_persons_own_folder(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As of a program that the administrator installed: they are read and checked once, not at every start."""
    kept.parent.touch()  # a file in the folder's place
    written = load(OVERLAY)
    monkeypatch.setattr(loading, "_bundled_sets", None)  # what would read them anew
    assert told(load(OVERLAY)) == told(written)


def test_a_folder_of_ones_own_is_made_with_those_above_it(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a fresh machine nothing has been kept for this person yet."""
    monkeypatch.setattr(loading, "_cache_paths", lambda layers: iter([kept.parent / "new" / "afterpull" / "kept.rules"]))
    load(OVERLAY)
    assert loading._cached(OVERLAY) is not None


def test_rules_that_can_be_kept_nowhere_are_not_made_ready_to_be(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan without any folder to write to takes no longer than one that keeps nothing, and nothing is said."""
    kept.parent.touch()
    (kept.parents[1] / "own").touch()
    monkeypatch.setattr(loading.pickle, "dumps", None)
    assert "cut comb" in load(OVERLAY).sets


@pytest.mark.parametrize(("keeps_nothing", "places"), [(True, 1), (False, 2)])
def test_a_persons_own_folder_is_looked_in_only_where_python_keeps_what_it_made(keeps_nothing: bool, places: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beside the files first; a start that keeps nothing is quicker without."""
    monkeypatch.setattr(sys, "dont_write_bytecode", keeps_nothing)
    found = list(loading._cache_paths(OVERLAY))
    assert len(found) == places
    assert found[0].parent.name == "__pycache__"
