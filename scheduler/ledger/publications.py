"""What went out last: the entries under their UIDs, and the plan a reader has seen."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Protocol, TypeVar

from sqlalchemy import Connection, delete, insert, select

from scheduler.ledger.checksums import PUBLISHED, kept, of_publications
from scheduler.ledger.connections import Connections
from scheduler.ledger.published_rows import PublishedRow, put, put_all, rows, writing
from scheduler.ledger.tables import published, seen

_ROWS = 500  # in one statement; SQLite takes 32,766 values
STEP = 1000  # above the highest SEQUENCE that can be read: what cannot be may have had a higher one; assumed


class PublishedState(Protocol):
    """The last state sent under a UID: a named tuple of the outputs, whose fields are the columns it is kept in."""

    def _asdict(self) -> dict[str, Any]: ...


P = TypeVar("P", bound=PublishedState)


class Outgoing:
    """Reads and replaces what was sent."""

    def __init__(self, connections: Connections) -> None:
        self._connections = connections

    def published(self, build: Callable[..., P]) -> dict[str, P]:
        """The last state of every UID as far as it can be read, in order of UID; `build` is the class of one."""
        with self._connections.reading() as connection:
            return _built(rows(connection)[0], build)

    def publish(self, build: Callable[..., P], revise: Callable[[dict[str, P], int], Mapping[str, P]]) -> Mapping[str, P]:
        """
        Replace the state that was sent by what `revise` makes of it, and return that; only rows that differ are written.

        `revise` gets what was sent as far as it can be read, and the SEQUENCE of an entry that is not among it: 0, or, where something cannot be
        read, one above all that can. Nobody else publishes between the reading and the writing, so that no SEQUENCE is given twice. Where `revise`
        raises nothing is changed.
        """

        def replace(connection: Connection) -> Mapping[str, P]:
            found, own = rows(connection)
            before = _built(found, build)
            lost = of_publications(own) != kept(connection, PUBLISHED)
            after = revise(dict(before), max((row.sequence for row in found), default=0) + STEP if lost else 0)
            changed = [uid for uid, one in after.items() if before.get(uid) != one]
            gone = [uid for uid in before if uid not in after or uid in changed]
            if lost or _removed(connection, gone) != len(gone):
                put_all(connection, [_row(uid, one) for uid, one in after.items()])
            elif changed or gone:
                put(connection, [_row(uid, after[uid]) for uid in changed])
            return after

        return writing(self._connections, replace)

    def last_seen(self, reader: str) -> tuple[int, str] | None:
        """When a reader last saw a plan [epoch s], and its text as it was given to `see`; None where never."""
        with self._connections.reading() as connection:
            row = connection.execute(select(seen.c.at, seen.c.plan).where(seen.c.reader == reader)).one_or_none()
        return (row.at, row.plan) if row is not None else None

    def see(self, reader: str, at: int, plan: str) -> None:
        """Keep the plan that a reader sees now, for "what moved since"."""
        with self._connections.writing() as connection:
            connection.execute(delete(seen).where(seen.c.reader == reader))
            connection.execute(insert(seen).values(reader=reader, at=at, plan=plan))


def _built(found: Iterable[PublishedRow], build: Callable[..., P]) -> dict[str, P]:
    return {row.uid: build(**{name: value for name, value in row._asdict().items() if name != "uid"}) for row in sorted(found, key=lambda row: row.uid)}


def _row(uid: str, one: PublishedState) -> PublishedRow:
    return PublishedRow(uid=uid, **one._asdict())


def _removed(connection: Connection, uids: Sequence[str]) -> int:
    """Remove rows; returns how many there were."""
    parts = (uids[start : start + _ROWS] for start in range(0, len(uids), _ROWS))
    return sum(connection.execute(delete(published).where(published.c.uid.in_(part))).rowcount for part in parts)
