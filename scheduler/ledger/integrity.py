"""Whether a ledger is sound: the file, the links between facts, and that each fact and each publication is as it was written, to the bit."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Connection

from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.facts.fact import from_json, to_json
from scheduler.ledger.checksums import FACTS, NOTHING, PUBLISHED, added, any_text, kept, of_fact, of_publications
from scheduler.ledger.connections import Connections
from scheduler.ledger.published_rows import readable, rows

_BACKUP = "--ledger PATH of a backup, or what can be read: afterpull ledger export"
_ANEW = "afterpull calendar, which makes the entries anew; their dates may move"


def faults_in(connections: Connections) -> list[Diagnostic]:
    """Everything that is wrong, in order of sequence; empty where the ledger is sound."""
    found: list[tuple[str, str]] = []
    refused: tuple[Diagnostic, ...] = ()
    try:
        with connections.reading() as connection, any_text(connection):
            found += _of_the_file(connection) if connections.is_file else ()
            found += _of_what_was_published(connection)
            found += _of_the_facts(connection)
    except Refused as error:
        refused = tuple(error.diagnostics)
    return [*(Diagnostic(connections.place, 0, 0, _shown(message), write) for message, write in found), *refused]


def _shown(words: str) -> str:
    """Words that quote what is not Unicode any more, so that they can be printed."""
    return words.encode("utf-8", "backslashreplace").decode()


def _of_the_file(connection: Connection) -> list[tuple[str, str]]:
    damaged = [str(line) for line in connection.exec_driver_sql("PRAGMA integrity_check").scalars() if line != "ok"]
    astray = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    guards = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'facts'").scalar_one()
    found = [(f"the file is damaged: {line}", _BACKUP) for line in damaged]
    found += [(f"row {rowid} of {table} replaces a fact that is not here", _BACKUP) for table, rowid, *_ in astray]
    return found + ([] if guards == 2 else [("what keeps facts from being changed was taken out of the file", _BACKUP)])


def _of_what_was_published(connection: Connection) -> Iterator[tuple[str, str]]:
    found, own = rows(connection)
    yield from ((f"what was published as {row.uid} is no entry that a calendar can show", _ANEW) for row in found if not readable(row))
    if of_publications(own) != kept(connection, PUBLISHED):
        yield "some of what was published last is not as it was written, or is gone", _ANEW


def _of_the_facts(connection: Connection) -> Iterator[tuple[str, str]]:
    before, sum_ = set[object](), NOTHING
    for row in connection.exec_driver_sql("SELECT sequence, id, kind, occurred_at, recorded_at, body, replaces, checksum FROM facts ORDER BY sequence"):
        named = f"fact {row.sequence} ({row.id})"
        before.add(row.id)
        sum_ = added(sum_, row.sequence, row.checksum)
        if row.checksum != of_fact(row.id, row.recorded_at, row.body):
            yield f"{named} is not as it was written: its checksum is another", _BACKUP
        try:
            fact = from_json(row.body)
            text = to_json(fact)
        except Fault as fault:
            yield f"{named}: {fault.message}", fault.write
            continue
        if (text, fact.kind, fact.occurred_at, fact.replaces) != (row.body, row.kind, row.occurred_at, row.replaces):
            yield f"{named}: its columns say something else than its text", _BACKUP
        if row.replaces is not None and row.replaces not in before:
            yield f"{named} replaces a fact that does not come before it", _BACKUP
    if sum_ != kept(connection, FACTS):
        yield "a fact is gone, has changed its place or was added by another program", _BACKUP
