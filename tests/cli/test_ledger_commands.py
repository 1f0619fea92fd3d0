"""`afterpull ledger`: the facts as a whole, out and in again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scheduler.ledger.store import Ledger
from tests.keeper import Keeper


def test_an_export_imported_elsewhere_is_the_same_ledger(ridge: Keeper, tmp_path: Path) -> None:
    """And imported once more adds nothing; what is here already is not counted as new."""
    assert ridge.types("ledger", "export", "facts.jsonl").strip().endswith("lines written to facts.jsonl")
    count = len(ridge.view.facts)
    other = ["--ledger", str(tmp_path / "other.sqlite")]
    assert ridge.types("ledger", "import", "facts.jsonl", *other) == f"{count} facts were new\n"
    assert ridge.types("ledger", "import", "facts.jsonl", *other) == "0 facts were new\n"
    assert ridge.types("ledger", "check", *other) == "nothing is wrong\n"


def test_a_backup_is_opened_like_any_ledger_and_overwrites_nothing(ridge: Keeper, tmp_path: Path) -> None:
    """The second has to have another name."""
    assert ridge.types("ledger", "backup", "copy.sqlite") == "copied to copy.sqlite\n"
    assert "ridge-2" in ridge.types("agenda", "--ledger", str(tmp_path / "copy.sqlite"))
    assert "a backup overwrites nothing" in ridge.types("ledger", "backup", "copy.sqlite", refused=True)


def test_what_is_wrong_ends_with_status_2(ridge: Keeper, tmp_path: Path) -> None:
    """A file that is no ledger, and no export."""
    (tmp_path / "notes.txt").write_text("not a fact\n")
    assert "this is not a ledger" in ridge.types("ledger", "check", "--ledger", str(tmp_path / "notes.txt"), refused=True)
    assert "notes.txt:1:" in ridge.types("ledger", "import", str(tmp_path / "notes.txt"), refused=True)


def test_a_ledger_of_this_version_says_so(ridge: Keeper) -> None:
    """There is nothing to bring up."""
    assert ridge.types("ledger", "migrate").endswith("is of this version\n")


@pytest.mark.parametrize(
    ("wrong", "says"),
    [(("timezone: ", "timezone: Nowhere/"), "timezone"), (("pulled: ", "pulled: sometime "), "pulled")],
)
def test_a_yard_or_harvest_that_cannot_be_planned_from_is_not_imported(ridge: Keeper, tmp_path: Path, wrong: tuple[str, str], says: str) -> None:
    """Taken in, it would stop every command from then on. The export is of the first form, whose lines have no checksums."""
    ridge.types("ledger", "export", "facts.jsonl")
    lines = [json.loads(line) for line in (tmp_path / "facts.jsonl").read_text(encoding="utf-8").splitlines()]
    old = [{"afterpull ledger": 1}, *({key: one[key] for key in ("fact", "id", "recorded_at")} for one in lines if "fact" in one)]
    text = "\n".join(json.dumps(one) for one in old)
    (tmp_path / "older.jsonl").write_text(text)
    assert ridge.types("ledger", "import", "older.jsonl", "--ledger", str(tmp_path / "sound.sqlite")).endswith("facts were new\n")
    (tmp_path / "older.jsonl").write_text(text.replace(*wrong))
    refusal = ridge.types("ledger", "import", "older.jsonl", "--ledger", str(tmp_path / "other.sqlite"), refused=True)
    assert "older.jsonl, in " in refusal
    assert says in refusal
    with Ledger.open(tmp_path / "other.sqlite") as other:
        assert not other.facts()
