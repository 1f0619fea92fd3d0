"""Connections to the store."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import text

from scheduler.ledger.store import Ledger
from tests.stores import connections_of


def test_every_connection_writes_ahead_syncs_fully_and_minds_foreign_keys(tmp_path: Path) -> None:
    """What SQLite says of itself (its documentation of PRAGMA: synchronous 2 is FULL), on the first connection and on one opened later."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        engine = connections_of(ledger).engine
        for _ in range(2):
            with engine.connect() as connection:
                told = [connection.execute(text(f"PRAGMA {name}")).scalar() for name in ("journal_mode", "synchronous", "foreign_keys")]
            assert told == ["wal", 2, 1]
            engine.dispose()
