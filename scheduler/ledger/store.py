"""The ledger: facts are added, read in order and never edited. What was published and which alerts were sent is kept beside them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TextIO
from uuid import uuid4

from sqlalchemy import Connection, Row, func, or_, select

from scheduler.diagnostics import Diagnostic, Fault
from scheduler.facts.fact import OF_TASKS, Fact, Recorded, from_json, to_json
from scheduler.ledger import exchange, sqlite_file, upgrade
from scheduler.ledger.alerts import Alerts, acknowledge, put_off
from scheduler.ledger.checksums import insert_facts
from scheduler.ledger.connections import PATIENCE, Connections
from scheduler.ledger.database_words import refused
from scheduler.ledger.integrity import faults_in
from scheduler.ledger.location import file_of, server
from scheduler.ledger.phones import Phones, kept_mark, said_of
from scheduler.ledger.publications import Outgoing
from scheduler.ledger.published_rows import writing
from scheduler.ledger.tables import facts


class Ledger:
    """
    An open ledger. Use it as a context manager, or close it.

    `outgoing` holds what was published and seen, `alerts` what was and will be sent, `phones` who may use the page.
    """

    def __init__(self, connections: Connections) -> None:
        self._connections = connections
        self.place = connections.place
        self.outgoing = Outgoing(connections)
        self.alerts = Alerts(connections)
        self.phones = Phones(connections)

    @classmethod
    def open(cls, where: str | Path, *, create: bool = True, patience: float = PATIENCE, dumped: bool = False) -> Self:
        """
        The ledger at a path or at postgresql://..., made where there is none (unless `create` is false) and brought to this program's tables.

        `patience` is how long to wait for other writers [s]; `dumped` says that older tables on a server may be changed, for there is a dump of them.
        Raises `Refused`, and leaves the ledger as it is, where it is damaged, foreign, newer, locked, or may not be written.
        """
        path = file_of(where)
        if path is None:
            connections = Connections(server(str(where)), patience)
        else:
            if not path.exists():
                if not create:
                    raise refused(str(path), "there is no ledger here yet", "afterpull init")
                sqlite_file.create(path, upgrade.migrate, patience)
            sqlite_file.recognise(path)
            connections = Connections.to_file(path, patience)
        try:
            upgrade.bring_up(connections, dumped)
        except BaseException:
            connections.close()
            raise
        return cls(connections)

    def close(self) -> None:
        """Close the store."""
        self._connections.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def append(self, new: Iterable[Fact], recorded_at: int) -> tuple[Recorded, ...]:
        """Write facts down, all or none; on return they are on the disk. Raises `Fault` where one replaces a fact that is not here."""
        given = list(new)
        with self._connections.writing() as connection:
            return _add(connection, given, recorded_at)

    def append_once(self, key: str, new: Iterable[Fact], recorded_at: int, said: str) -> tuple[Recorded, ...]:
        """
        Write down what a form says together with its key, or nothing where that key was written before, by whichever program.

        What is `said` is kept with the key, for a form sent twice is answered alike.
        """
        given = list(new)
        with self._connections.writing() as connection:
            if said_of(connection, key) is not None:
                return ()
            kept_mark(connection, key, recorded_at, said)
            return _add(connection, given, recorded_at)

    def facts(self, tasks_since: int | None = None) -> tuple[Recorded, ...]:
        """All facts in the order they were written. `standing` says which of them count.

        With `tasks_since`, what became of tasks before that moment [s since 1970] is left out: it is most of an old ledger.
        """
        with self._connections.reading() as connection:
            return self._read(connection, tasks_since)

    def position(self) -> int:
        """The sequence of the last fact, 0 where there is none: whoever follows the ledger compares it."""
        with self._connections.reading() as connection:
            return int(connection.execute(select(func.coalesce(func.max(facts.c.sequence), 0))).scalar_one())

    def answer(self, new: Iterable[Fact], recorded_at: int, *, heard: Iterable[str] = (), later: Iterable[str] = (), until: int = 0) -> None:
        """Write down what somebody answered to an alert together with what becomes of alerts by it: `heard`, or told again `later`, at `until`."""
        with self._connections.writing() as connection:
            _add(connection, tuple(new), recorded_at)
            acknowledge(connection, heard, recorded_at)
            put_off(connection, later, until)

    def export(self, stream: TextIO) -> int:
        """Write every fact and publication as JSON lines; returns how many lines followed the first. The same ledger gives the same bytes."""
        with self._connections.reading() as connection:
            return exchange.export(connection, stream)

    def import_(self, stream: TextIO, path: str, accept: Callable[[tuple[Recorded, ...]], None] | None = None) -> int:
        """
        Add what an export holds and this ledger does not; returns how many facts were new.

        Raises `Refused` with every bad line; so may `accept`, which is shown all facts as they would be. Nothing is added then.
        """
        lines = exchange.parse(stream, path)

        def add(connection: Connection) -> int:
            count = exchange.add(connection, lines, path)
            if accept is not None:
                accept(self._read(connection))
            return count

        return writing(self._connections, add)

    def check(self) -> list[Diagnostic]:
        """What is wrong with the ledger; nothing where it is sound. Reads all of it."""
        return faults_in(self._connections)

    def backup(self, target: Path) -> None:
        """A copy of the whole ledger in a new file. Raises `Refused` where the file exists, or the ledger is not a file."""
        if not self._connections.is_file:
            raise refused(self.place, "a ledger on a server is backed up with the server's own tools", "pg_dump, or: afterpull ledger export")
        sqlite_file.copy(self._connections, target)

    def _read(self, connection: Connection, tasks_since: int | None = None) -> tuple[Recorded, ...]:
        wanted = select(facts).order_by(facts.c.sequence)
        if tasks_since is not None:
            wanted = wanted.where(or_(facts.c.kind.not_in(OF_TASKS), facts.c.occurred_at >= tasks_since))
        return tuple(self._recorded(row) for row in connection.execute(wanted).all())

    def _recorded(self, row: Row[Any]) -> Recorded:
        try:
            return Recorded(row.sequence, row.id, row.recorded_at, from_json(row.body))
        except Fault as fault:
            raise refused(self.place, f"fact {row.sequence} ({row.id}): {fault.message}", fault.write) from None


def _add(connection: Connection, new: Sequence[Fact], recorded_at: int) -> tuple[Recorded, ...]:
    if not new:
        return ()
    named = {fact.replaces for fact in new if fact.replaces is not None}
    known = set(connection.execute(select(facts.c.id).where(facts.c.id.in_(named))).scalars()) if named else set()
    if named - known:
        raise Fault(f"there is no fact {min(named - known)} to replace", "the id of a fact in this ledger")
    ids = [uuid4().hex for _ in new]
    sequences = insert_facts(connection, [exchange.row(key, recorded_at, fact, to_json(fact)) for key, fact in zip(ids, new, strict=True)])
    return tuple(Recorded(sequence, key, recorded_at, fact) for sequence, key, fact in zip(sequences, ids, new, strict=True))
