"""Whether a ledger is sound: the file, the facts in it, and what links them."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

from scheduler.diagnostics import Refused
from scheduler.ledger.store import Ledger
from tests.facts.recorded import HOUR, PULLED, SEASON
from tests.stores import connections_of

NOW = PULLED + 100 * HOUR


def test_a_sound_ledger_has_nothing_to_report(ledger: Ledger) -> None:
    """`check` reads all of it and is silent."""
    ledger.append(SEASON, NOW)
    assert ledger.check() == []


def test_a_fact_of_a_newer_program_is_named_not_guessed_at(ledger: Ledger) -> None:
    """Reading and checking both say which fact, and that a newer program reads it."""
    with connections_of(ledger).writing() as connection:
        statement = "INSERT INTO facts (id, kind, occurred_at, recorded_at, body) VALUES (:id, 'task-dreamt', 1, 1, :body)"
        connection.execute(text(statement), {"id": "a" * 32, "body": '{"kind":"task-dreamt","v":1}'})
    with pytest.raises(Refused, match="newer afterpull"):
        ledger.facts()
    assert any("task-dreamt" in one.message for one in ledger.check())


def test_a_fact_whose_columns_were_tampered_with_is_found(ledger: Ledger) -> None:
    """The text is what was told; a column that says something else is reported."""
    with connections_of(ledger).writing() as connection:
        statement = "INSERT INTO facts (id, kind, occurred_at, recorded_at, body) VALUES (:id, 'task-done', 1, 1, :body)"
        connection.execute(text(statement), {"id": "a" * 32, "body": '{"kind":"task-done","occurred_at":2,"task":"cut","v":1}'})
    assert any("its columns say something else than its text" in one.message for one in ledger.check())


@pytest.mark.parametrize("guard", ["facts_no_update", "facts_no_delete"])
def test_a_ledger_whose_guard_was_taken_out_is_reported(tmp_path: Path, guard: str) -> None:
    """Without the trigger a fact could be changed and nobody would see it."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        with connections_of(ledger).writing() as connection:
            connection.execute(text(f"DROP TRIGGER {guard}"))
        assert "what keeps facts from being changed was taken out" in ledger.check()[0].message


def test_an_index_that_does_not_agree_with_the_facts_is_reported(tmp_path: Path) -> None:
    """The facts read well, but looking one up by its id would go wrong."""
    path = tmp_path / "ledger.sqlite"
    with Ledger.open(path) as ledger:
        given = ledger.append(SEASON, NOW)
        with connections_of(ledger).reading() as connection:
            page = connection.execute(text("SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_facts_1'")).scalar_one()
    content = bytearray(path.read_bytes())
    at = content.index(given[3].id.encode(), (page - 1) * 4096)
    content[at : at + 32] = b"f" * 32
    path.write_bytes(content)
    with Ledger.open(path) as ledger:
        assert ledger.facts() == given
        assert "the file is damaged" in ledger.check()[0].message
