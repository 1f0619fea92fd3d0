"""A ledger for each test: an SQLite file, and, in the system tests, a schema of its own on a real PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler.ledger.store import Ledger
from tests.stores import KINDS, place


@pytest.fixture(params=KINDS)
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The place of a ledger that does not exist yet."""
    with place(request.param, tmp_path) as found:
        yield found


@pytest.fixture
def ledger(where: str) -> Iterator[Ledger]:
    """An open, empty ledger."""
    with Ledger.open(where) as opened:
        yield opened
