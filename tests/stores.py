"""Where a ledger of a test lies: an SQLite file or, in the system tests, a schema of its own on a real PostgreSQL; and damage done to what it keeps."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from sqlalchemy import create_engine
from sqlalchemy.engine import make_url
from sqlalchemy.schema import CreateSchema, DropSchema

from scheduler.ledger.connections import Connections
from scheduler.ledger.store import Ledger

KINDS = ["sqlite", pytest.param("postgresql", marks=pytest.mark.system)]


@contextmanager
def place(kind: str, folder: Path) -> Iterator[str]:
    """The place of a ledger that does not exist yet."""
    if kind == "sqlite":
        yield str(folder / "ledger.sqlite")
        return
    address = os.environ["AFTERPULL_TEST_POSTGRES"]  # .ci/postgres.sh prints it
    engine, schema = create_engine(make_url(address).set(drivername="postgresql+psycopg"), isolation_level="AUTOCOMMIT"), f"ledger_{uuid4().hex[:12]}"
    with engine.connect() as connection:
        connection.execute(CreateSchema(schema))
        yield f"{address}?options=-csearch_path%3D{schema}"
        connection.execute(DropSchema(schema, cascade=True))
    engine.dispose()


def overwrite(where: str, statement: str, *values: Any) -> int:
    """Write past everything that guards a ledger, as a failing disk does; `?` stands for a value. Returns how many rows there were."""
    if where.startswith("postgresql"):
        import psycopg

        with psycopg.connect(where) as server:
            server.execute("SET session_replication_role = replica")  # no triggers, no foreign keys
            return server.execute(statement.replace("?", "%s"), values).rowcount
    with closing(sqlite3.connect(where, isolation_level=None)) as file, file:
        file.execute("BEGIN IMMEDIATE")
        guards = file.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            file.execute(f"DROP TRIGGER {name}")
        count = file.execute(statement, values).rowcount
        for _, guard in guards:
            file.execute(guard)
        return count


def stored(where: str, table: str) -> list[dict[str, Any]]:
    """Every row of a table, as its driver reads it."""
    if where.startswith("postgresql"):
        import psycopg
        from psycopg.rows import dict_row

        with psycopg.connect(where, row_factory=dict_row) as server:
            return server.execute(f"SELECT * FROM {table}").fetchall()
    with closing(sqlite3.connect(where)) as file:
        file.row_factory = sqlite3.Row
        return [dict(row) for row in file.execute(f"SELECT * FROM {table}")]


def connections_of(ledger: Ledger) -> Connections:
    """What a ledger reads and writes by, for tests that reach behind it."""
    return ledger.alerts._connections
