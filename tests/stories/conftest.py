"""Stories that hold wherever the ledger lies: in an SQLite file, and, in the system tests, on a real PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.stores import KINDS, place

in_a_file = pytest.mark.parametrize("new_place", ["sqlite"], indirect=True)  # of what is done to the file itself


@pytest.fixture(params=KINDS)
def new_place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The place of a ledger that does not exist yet."""
    with place(request.param, tmp_path) as found:
        yield found
