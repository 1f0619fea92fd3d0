"""One changed bit in a fact, in what was published or in a checksum: `check` finds it, wherever it is. The yard and its harvest are the invented example."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from random import Random
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError

from scheduler.application.publish import publish_plan
from scheduler.diagnostics import Refused
from scheduler.facts.fact import Retracted
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.publication import Published
from tests.chance import random_of, times
from tests.conftest import PULLED, fill
from tests.facts.recorded import SEASON
from tests.stores import overwrite, stored

TABLES = ("facts", "published", "sums")
KEYS = {"facts": ("id", "sequence"), "published": ("uid", "digest"), "sums": ("of", "checksum")}  # by which a row is found, unless it is that which changes


@pytest.fixture
def season(where: str) -> str:
    """A ledger with every kind of fact, one of them taken back, and eight entries that were published."""
    with Ledger.open(where) as ledger:
        fill(ledger)
        few = dict(list(publish_plan(ledger, PULLED).published.items())[:8])
        ledger.outgoing.publish(Published, lambda before, first: few)
        given = ledger.append(SEASON, PULLED + 1)
        ledger.append([Retracted(occurred_at=PULLED, replaces=given[2].id)], PULLED + 2)
        assert ledger.check() == []
    return where


def flipped(value: Any, chance: Random, *, server: bool) -> Any:
    """A value with one bit changed; text as bytes, unless it has to stay text that a server takes."""
    if isinstance(value, int):
        return value ^ (1 << chance.randrange(30))
    raw = bytearray(value.encode() if isinstance(value, str) else value)
    if isinstance(value, bytes) or not server:
        raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
        return bytes(raw)
    at, bit = chance.choice([(at, bit) for at, byte in enumerate(raw) for bit in range(7) if byte < 128 and byte != 1 << bit])
    raw[at] ^= 1 << bit
    return raw.decode()


def one_bit(where: str, chance: Random) -> tuple[str, tuple[Any, ...], tuple[Any, ...]]:
    """A statement that changes one bit of one value, with what it takes to do and to undo it."""
    server = where.startswith("postgresql")
    table = chance.choices(TABLES, (5, 5, 1))[0]
    row = chance.choice(stored(where, table))
    column = chance.choice([name for name, value in row.items() if value is not None and value != ""])
    by = next(name for name in KEYS[table] if name != column)
    value = row[column]
    changed = flipped(value, chance, server=server)
    marker = "CAST(? AS TEXT)" if isinstance(value, str) and not server else "?"
    return f'UPDATE {table} SET "{column}" = {marker} WHERE "{by}" = ?', (changed, row[by]), (value, row[by])


@pytest.mark.slow
def test_no_changed_bit_of_a_stored_value_is_silent(season: str) -> None:
    """In any column of any row, text that is no longer UTF-8 among them; undone, the ledger is sound again."""
    chance, silent, wanted = random_of("bits"), [], times(600)
    with Ledger.open(season) as ledger:
        while wanted:
            statement, do, undo = one_bit(season, chance)
            try:
                assert overwrite(season, statement, *do) == 1
            except (sqlite3.IntegrityError, IntegrityError, *server_refusals()):
                continue  # a number that another row has
            silent += [] if ledger.check() else [(statement, do)]
            assert overwrite(season, statement, *undo) == 1
            wanted -= 1
        assert ledger.check() == []
    assert silent == []


def server_refusals() -> tuple[type[Exception], ...]:
    """What the driver of a server raises where a key would be there twice."""
    try:
        import psycopg
    except ImportError:
        return ()
    return (psycopg.errors.UniqueViolation,)


def read(path: Path) -> list[tuple[Any, ...]] | None:
    """Every value of the three tables with its type, read by SQLite alone; None where it cannot read them."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as file:
            file.text_factory = bytes
            return [row for table in TABLES for row in file.execute(f"SELECT rowid, * FROM {table} ORDER BY rowid")]
    except sqlite3.Error:
        return None


@pytest.mark.slow
@pytest.mark.parametrize("where", ["sqlite"], indirect=True)
def test_no_changed_bit_of_the_file_changes_a_value_silently(season: str, tmp_path: Path) -> None:
    """Anywhere behind the first page: where SQLite then reads another value, or none, `check` says so; what changes nothing may be silent."""
    path, chance, silent, noticed = tmp_path / "flipped.sqlite", random_of("bytes"), [], 0
    with Ledger.open(season) as ledger:
        ledger.backup(path)
    with closing(sqlite3.connect(path)) as file:
        file.execute("VACUUM")  # no pages that hold nothing
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    sound, content = read(path), path.read_bytes()
    first = int.from_bytes(content[16:18], "big")  # bytes of a page (SQLite file format, section 1.3.2)
    assert sound
    while noticed < times(600):
        at, bit = chance.randrange(first, len(content)), chance.randrange(8)
        for beside in ("-wal", "-shm"):
            path.with_name(path.name + beside).unlink(missing_ok=True)
        damaged = bytearray(content)
        damaged[at] ^= 1 << bit
        path.write_bytes(damaged)
        if read(path) == sound:
            continue
        noticed += 1
        try:
            with Ledger.open(path, create=False) as ledger:
                silent += [] if ledger.check() else [(at, bit)]
        except Refused:
            pass
    assert silent == []


@pytest.mark.parametrize(
    "damage",
    [
        "DELETE FROM facts WHERE sequence = 3",
        "DELETE FROM facts WHERE sequence = (SELECT max(sequence) FROM facts)",
        "UPDATE facts SET sequence = -sequence WHERE sequence IN (4, 5)",
        "INSERT INTO facts SELECT 99, 'other', kind, occurred_at, recorded_at, body, replaces, checksum FROM facts WHERE sequence = 1",
        "DELETE FROM published WHERE uid = (SELECT min(uid) FROM published)",
        "DELETE FROM sums",
    ],
)
def test_what_is_gone_or_has_changed_its_place_is_found(season: str, damage: str) -> None:
    """Each row left is as it was written; the sum over all of them is not."""
    overwrite(season, damage)
    with Ledger.open(season) as ledger:
        assert ledger.check()


def test_the_damaged_fact_is_named_and_the_others_are_not(season: str) -> None:
    """By its number and its id: a checksum of its own each, no chain."""
    [row] = [one for one in stored(season, "facts") if one["sequence"] == 4]
    overwrite(season, "UPDATE facts SET recorded_at = recorded_at + 1 WHERE sequence = 4")
    with Ledger.open(season) as ledger:
        [found] = ledger.check()
    assert f"fact 4 ({row['id']}) is not as it was written" in found.message
