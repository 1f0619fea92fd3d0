"""A ledger for each test: an SQLite file, and, in the system tests, a schema of its own on a real PostgreSQL."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import create_engine
from sqlalchemy.engine import make_url
from sqlalchemy.schema import CreateSchema, DropSchema

from scheduler.ledger.store import Ledger


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.system)])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The place of a ledger that does not exist yet."""
    if request.param == "sqlite":
        yield str(tmp_path / "ledger.sqlite")
        return
    address = os.environ["AFTERPULL_TEST_POSTGRES"]  # .ci/postgres.sh prints it
    engine, schema = create_engine(make_url(address).set(drivername="postgresql+psycopg"), isolation_level="AUTOCOMMIT"), f"ledger_{uuid4().hex[:12]}"
    with engine.connect() as connection:
        connection.execute(CreateSchema(schema))
        yield f"{address}?options=-csearch_path%3D{schema}"
        connection.execute(DropSchema(schema, cascade=True))
    engine.dispose()


@pytest.fixture
def ledger(where: str) -> Iterator[Ledger]:
    """An open, empty ledger."""
    with Ledger.open(where) as opened:
        yield opened
