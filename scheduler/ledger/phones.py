"""What the page keeps in the ledger: the keys of forms that were recorded, links that pair a phone once, and the phones that are paired."""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import Connection, delete, insert, select, update

from scheduler.ledger.connections import Connections
from scheduler.ledger.tables import links, marks, sessions

KEPT = 400 * 86_400  # s that the key of a form is kept: longer than a phone's cookie lasts, and so than a mark can wait in it
SEEN_EVERY = 3_600  # s between two notes of when a phone was last here; assumed


class Phone(NamedTuple):
    """A phone that is paired: its name, whose it is, when it was paired and last here, and until when it is let in [s since 1970]."""

    name: str
    person: str
    paired_at: int
    seen_at: int
    until: int


class Phones:
    """Reads and writes who may use the page. Secrets come here as their hashes alone."""

    def __init__(self, connections: Connections) -> None:
        self._connections = connections

    def said(self, key: str) -> str | None:
        """What was said when the form of this key was recorded; None where it was not."""
        with self._connections.reading() as connection:
            return said_of(connection, key)

    def link(self, hash_: str, person: str, now: int, until: int) -> None:
        """Keep a link that pairs one phone of a person, until a moment; those that are over are forgotten."""
        with self._connections.writing() as connection:
            connection.execute(delete(links).where(links.c.until <= now))
            connection.execute(insert(links).values(hash=hash_, person=person, until=until))

    def linked(self, hash_: str, now: int) -> str | None:
        """Whose link this is, while it holds. Asking does not spend it."""
        with self._connections.reading() as connection:
            return _person(connection, hash_, now)

    def pair(self, link: str, hash_: str, name: str, now: int, until: int) -> str | None:
        """Spend a link on a phone: whose it is now, or None where the link holds no more. Of two that ask at once one gets it."""
        with self._connections.writing() as connection:
            person = _person(connection, link, now)
            if person is not None:
                connection.execute(delete(links).where(links.c.hash == link))
                connection.execute(delete(sessions).where(sessions.c.until <= now))
                connection.execute(insert(sessions).values(hash=hash_, name=name, person=person, paired_at=now, seen_at=now, until=until))
            return person

    def phone(self, hash_: str, now: int) -> Phone | None:
        """The phone with this secret, while it is let in; that it was here is noted once an hour."""
        with self._connections.reading() as connection:
            row = connection.execute(select(sessions).where(sessions.c.hash == hash_, sessions.c.until > now)).one_or_none()
        if row is not None and now - row.seen_at >= SEEN_EVERY:
            with self._connections.writing() as connection:
                connection.execute(update(sessions).where(sessions.c.hash == hash_).values(seen_at=now))
        return Phone(row.name, row.person, row.paired_at, row.seen_at, row.until) if row is not None else None

    def all(self, now: int) -> tuple[Phone, ...]:
        """Every phone that is let in, the first paired first."""
        with self._connections.reading() as connection:
            rows = connection.execute(select(sessions).where(sessions.c.until > now).order_by(sessions.c.paired_at, sessions.c.name)).all()
        return tuple(Phone(row.name, row.person, row.paired_at, row.seen_at, row.until) for row in rows)

    def revoke(self, name: str) -> bool:
        """Let a phone in no more; whether there was one of that name."""
        with self._connections.writing() as connection:
            return connection.execute(delete(sessions).where(sessions.c.name == name)).rowcount > 0


def said_of(connection: Connection, key: str) -> str | None:
    """What was said to the form of a key; None where it was not recorded."""
    found: str | None = connection.execute(select(marks.c.said).where(marks.c.key == key)).scalar_one_or_none()
    return found


def kept_mark(connection: Connection, key: str, at: int, said: str) -> None:
    """Keep the key of a form that is recorded in this transaction; very old ones are forgotten."""
    connection.execute(delete(marks).where(marks.c.at < at - KEPT))
    connection.execute(insert(marks).values(key=key, at=at, said=said))


def _person(connection: Connection, link: str, now: int) -> str | None:
    found: str | None = connection.execute(select(links.c.person).where(links.c.hash == link, links.c.until > now)).scalar_one_or_none()
    return found
