"""The ledger as one SQLite file: made whole or not at all, and recognised before it is opened."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from scheduler.diagnostics import Refused
from scheduler.ledger import sqlite_file, upgrade
from scheduler.ledger.connections import Connections
from scheduler.ledger.store import Ledger
from tests.facts.recorded import HARVEST, HOUR, PULLED
from tests.stores import connections_of

NOW = PULLED + 100 * HOUR


def test_who_comes_second_to_a_new_place_takes_the_ledger_that_is_there(tmp_path: Path) -> None:
    """Two who begin at once share one ledger: the second, who looked before the first was done, throws its own away."""
    path = tmp_path / "ledger.sqlite"
    with Ledger.open(path) as first:
        given = first.append([HARVEST], NOW)
    sqlite_file.create(path, upgrade.migrate, 1.0)
    with Ledger.open(path) as second:
        assert second.facts() == given
    assert [one.name for one in tmp_path.iterdir()] == ["ledger.sqlite"]


def foreign(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE recipes (name)")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda path: path.write_bytes(b""), "the file is empty"),
        (lambda path: path.write_bytes(random.Random(3).randbytes(8192)), "not a ledger, or it is damaged"),
        (lambda path: path.write_text("harvest: ridge-2\n", encoding="utf-8"), "not a ledger, or it is damaged"),
        (lambda path: path.write_bytes(b"SQLite format 3\0"), "not a ledger, or it is damaged"),
        (lambda path: path.mkdir(), "cannot be read"),
        (foreign, "a database of another program"),
    ],
    ids=["empty", "noise", "a harvest file", "only the first bytes", "a folder", "another program's"],
)
def test_a_file_that_is_no_ledger_is_refused_and_left_as_it_is(tmp_path: Path, spoil: Callable[[Path], None], said: str) -> None:
    """Nothing is repaired, overwritten or begun anew over what somebody may still need."""
    path = tmp_path / "ledger.sqlite"
    spoil(path)
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(Refused, match=said):
        Ledger.open(path)
    assert (path.read_bytes() if path.is_file() else None) == before
    assert [one.name for one in tmp_path.iterdir()] == ["ledger.sqlite"]


def test_a_copy_is_a_whole_ledger_and_takes_no_place_that_is_taken(tmp_path: Path) -> None:
    """While the ledger stays open; beside it nothing is left."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        given = ledger.append([HARVEST], NOW)
        sqlite_file.copy(connections_of(ledger), tmp_path / "copy.sqlite")
        with pytest.raises(Refused, match="a backup overwrites nothing"):
            sqlite_file.copy(connections_of(ledger), tmp_path / "copy.sqlite")
    with Ledger.open(tmp_path / "copy.sqlite") as copied:
        assert copied.facts() == given
    assert sorted(one.name for one in tmp_path.iterdir()) == ["copy.sqlite", "ledger.sqlite"]


def test_where_the_tables_can_not_be_made_no_file_is_left(tmp_path: Path) -> None:
    """A fault on the way leaves the place free for the next."""

    def broken(connections: Connections) -> None:
        raise sqlite3.OperationalError("disk I/O error")

    with pytest.raises(Refused, match="the ledger cannot be made here: disk I/O error"):
        sqlite_file.create(tmp_path / "folder" / "ledger.sqlite", broken, 1.0)
    assert list((tmp_path / "folder").iterdir()) == []
