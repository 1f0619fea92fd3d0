"""What was published, row by row: read as far as it can be, and whether it is an entry that a calendar can show."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import Connection, delete, insert
from sqlalchemy.exc import DBAPIError

from scheduler.ledger.checksums import NOTHING, PUBLISHED, any_text, checksum, keep, kept, of_publications, sum_publications
from scheduler.ledger.connections import Connections
from scheduler.ledger.tables import published
from scheduler.local_time import AFTER_LATEST, EARLIEST, FIRST_YEAR, LAST_YEAR

MOST = 10**9  # the greatest SEQUENCE that is taken over: RFC 5545 ends at 2**31 - 1, and it has to go on rising; assumed
T = TypeVar("T")
_FIELDS = "uid, sequence, digest, last_modified, content, gone_since"


class Torn(Exception):
    """The table of a file cannot be emptied: its pages are no table any more."""


class PublishedRow(NamedTuple):
    """A row of the table, without its checksum; of any types, where it is damaged."""

    uid: Any
    sequence: Any
    digest: Any
    last_modified: Any
    content: Any
    gone_since: Any

    def checksum(self) -> str:
        """The checksum that belongs to it."""
        return checksum(*self)


def readable(row: PublishedRow) -> bool:
    """Whether a row is what a calendar can show: one event or to-do under its UID and SEQUENCE, its moments in zones and years that exist."""
    from icalendar import Component

    moments = (row.last_modified, *(() if row.gone_since is None else (row.gone_since,)))
    if not 0 <= row.sequence <= MOST or not all(EARLIEST <= moment < AFTER_LATEST for moment in moments):
        return False
    try:
        found: Any = Component.from_ical(row.content)
        spans = [found[name].dt for name in ("DTSTART", "DTEND", "DUE") if name in found]
        return bool(
            found.name in ("VEVENT", "VTODO")
            and not [error for part in found.walk() for error in part.errors]
            and (str(found["UID"]), int(found["SEQUENCE"])) == (row.uid, row.sequence)
            and all((not isinstance(one, datetime) or one.tzinfo is not None) and FIRST_YEAR <= one.year <= LAST_YEAR for one in spans)
        )
    except (ValueError, KeyError, AttributeError, TypeError, OSError, RecursionError):  # whatever the library makes of such bytes
        return False


def rows(connection: Connection) -> tuple[list[PublishedRow], list[str]]:
    """Every row that is as it was written, and the checksums of these; a page of a file that cannot be read hides what comes behind it."""
    found, own = [], []
    with any_text(connection), contextlib.suppress(DBAPIError):
        # without ORDER BY, so that the table is read and not its index; as the driver gives it, for a damaged value is of any type
        for *fields, kept in connection.exec_driver_sql(f"SELECT {_FIELDS}, checksum FROM published"):
            row = PublishedRow(*fields)
            if row.checksum() == kept:
                found.append(row)
                own.append(kept)
    return found, own


def put_all(connection: Connection, wanted: list[PublishedRow]) -> None:
    """Put these in the place of all that stands, damaged rows among it. Raises `Torn` where a file does not let go of that."""
    try:
        connection.execute(delete(published))
    except DBAPIError:
        if connection.dialect.name != "sqlite":
            raise
        raise Torn from None
    put(connection, wanted)


def writing(connections: Connections, write: Callable[[Connection], T]) -> T:
    """Write in one transaction; where the table is torn it is laid aside first, and what of it can be read is put into a new one."""
    try:
        with connections.writing() as connection:
            return write(connection)
    except Torn:
        with connections.reading() as connection:
            left, _ = rows(connection)
            before = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master WHERE name LIKE 'published_damaged_%'").scalar_one()
    with connections.writing() as connection:
        connection.exec_driver_sql(f"ALTER TABLE published RENAME TO published_damaged_{before + 1}")
        published.create(connection)
        put(connection, left)
        keep(connection, PUBLISHED, NOTHING)
    with connections.writing() as connection:
        return write(connection)


def put(connection: Connection, wanted: list[PublishedRow]) -> None:
    """Add rows with their checksums, and write their sum down."""
    if wanted:
        connection.execute(insert(published), [{**row._asdict(), "checksum": row.checksum()} for row in wanted])
    sum_publications(connection)


def add_newer(connection: Connection, given: Iterable[PublishedRow]) -> None:
    """Add what is not here, or is of a lower SEQUENCE here."""
    found, own = rows(connection)
    here, lost = {one.uid: one for one in found}, of_publications(own) != kept(connection, PUBLISHED)
    newer = {one.uid: one for one in given if one.uid not in here or one.sequence > here[one.uid].sequence}
    if newer:
        put_all(connection, list((here | newer).values()))
    if lost:
        keep(connection, PUBLISHED, NOTHING)  # the next publication still has to know it
