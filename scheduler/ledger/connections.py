"""Connections to the store, and its two kinds of transaction: reading one state, and writing alone."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, text

from scheduler.ledger.database_words import in_words
from scheduler.ledger.location import shown

PATIENCE = 30.0  # how long a writer waits for the others [s]; each holds the lock for milliseconds
_LOCK = 0x6C656467  # of PostgreSQL's advisory locks, the first half of the one that writers of a ledger take; the other half is its schema
_WRITES = "ledger_writes"


class Connections:
    """Opens transactions on one store; every fault of the store inside one comes out as `Refused` in words."""

    def __init__(self, url: URL, patience: float = PATIENCE) -> None:
        self.url = url
        self.place = url.database or "" if url.drivername == "sqlite" else shown(url).render_as_string()
        self.engine = _sqlite(url, patience) if url.drivername == "sqlite" else _postgresql(url, patience)

    @classmethod
    def to_file(cls, path: Path, patience: float = PATIENCE) -> Connections:
        """Connections to an SQLite file."""
        return cls(URL.create("sqlite", database=str(path)), patience)

    @property
    def is_file(self) -> bool:
        """Whether the store is an SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent state of the store."""
        options = {} if self.is_file else {"isolation_level": "REPEATABLE READ"}  # an SQLite reader has a snapshot anyway
        with in_words(self.place), self.engine.connect().execution_options(**options) as connection:
            connection.begin()
            yield connection  # then rolled back: SQLite does not commit once a damaged page was met

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """The store to itself: all of it is written, with full sync, or nothing. Writers take turns, so order of writing is order of sequence."""
        with in_words(self.place), self.engine.connect().execution_options(**{_WRITES: True}) as connection, connection.begin():
            if not self.is_file:
                connection.execute(text("SELECT pg_advisory_xact_lock(:lock, hashtext(coalesce(current_schema(), '')))"), {"lock": _LOCK})
            yield connection

    def close(self) -> None:
        """Give all connections back."""
        self.engine.dispose()


def _sqlite(url: URL, patience: float) -> Engine:
    engine = create_engine(url, connect_args={"timeout": patience})

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _: Any) -> None:
        connection.isolation_level = None  # BEGIN is ours to say: the driver's own comes too late for the lock
        for setting in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
            connection.execute(f"PRAGMA {setting}").close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.get_execution_options().get(_WRITES) else "BEGIN")

    return engine


def _postgresql(url: URL, patience: float) -> Engine:
    engine = create_engine(url, connect_args={"connect_timeout": max(2, round(patience))}, pool_pre_ping=True)

    @event.listens_for(engine, "connect")
    def _prepare(connection: Any, _: Any) -> None:
        connection.execute(f"SET lock_timeout = {round(patience * 1000)}")
        connection.commit()

    return engine
