"""What went out last: the entries under their UIDs, and the plan a reader has seen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Protocol, TypeVar

from sqlalchemy import Connection, delete, insert, select

from scheduler.ledger.connections import Connections
from scheduler.ledger.tables import published, seen

_ROWS = 500  # in one statement; SQLite takes 32,766 values


_FIELDS = tuple(column for column in published.c if column.name != "uid")


class PublishedState(Protocol):
    """The last state sent under a UID: a named tuple of the outputs, whose fields are the columns it is kept in."""

    def _asdict(self) -> dict[str, Any]: ...


P = TypeVar("P", bound=PublishedState)


class Outgoing:
    """Reads and replaces what was sent."""

    def __init__(self, connections: Connections) -> None:
        self._connections = connections

    def published(self, build: Callable[..., P]) -> dict[str, P]:
        """The last state of every UID, in order of UID; `build` is the class of one."""
        with self._connections.reading() as connection:
            return _published(connection, build)

    def publish(self, build: Callable[..., P], revise: Callable[[dict[str, P]], Mapping[str, P]]) -> Mapping[str, P]:
        """
        Replace the state that was sent by what `revise` makes of it, and return that; only rows that differ are written.

        Nobody else publishes between the reading and the writing, so that no SEQUENCE is given twice. Where `revise` raises nothing is changed.
        """
        with self._connections.writing() as connection:
            before = _published(connection, build)
            after = revise(dict(before))
            changed = [{"uid": uid, **one._asdict()} for uid, one in after.items() if before.get(uid) != one]
            gone = [uid for uid in before if uid not in after] + [one["uid"] for one in changed if one["uid"] in before]
            for start in range(0, len(gone), _ROWS):
                connection.execute(delete(published).where(published.c.uid.in_(gone[start : start + _ROWS])))
            if changed:
                connection.execute(insert(published), changed)
            return after

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


def _published(connection: Connection, build: Callable[..., P]) -> dict[str, P]:
    rows = connection.execute(select(published.c.uid, *_FIELDS).order_by(published.c.uid)).all()
    return {row.uid: build(**{column.name: value for column, value in zip(_FIELDS, row[1:], strict=True)}) for row in rows}
