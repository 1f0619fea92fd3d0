"""Whether a ledger is sound: the file, the links between facts, and that each fact reads back as it was written."""

from __future__ import annotations

from sqlalchemy import Connection, select

from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.facts.fact import from_json, to_json
from scheduler.ledger.connections import Connections
from scheduler.ledger.tables import facts

_BACKUP = "--ledger PATH of a backup, or what can be read: afterpull ledger export"


def faults_in(connections: Connections) -> list[Diagnostic]:
    """Everything that is wrong, in order of sequence; empty where the ledger is sound."""
    try:
        with connections.reading() as connection:
            found = _of_the_file(connection) if connections.is_file else []
            found += _of_the_facts(connection)
    except Refused as refused:
        return list(refused.diagnostics)
    return [Diagnostic(connections.place, 0, 0, message, write) for message, write in found]


def _of_the_file(connection: Connection) -> list[tuple[str, str]]:
    damaged = [str(line) for line in connection.exec_driver_sql("PRAGMA integrity_check").scalars() if line != "ok"]
    astray = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    guards = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND tbl_name = 'facts'").scalar_one()
    found = [(f"the file is damaged: {line}", _BACKUP) for line in damaged]
    found += [(f"row {rowid} of {table} replaces a fact that is not here", _BACKUP) for table, rowid, *_ in astray]
    return found + ([] if guards == 2 else [("what keeps facts from being changed was taken out of the file", _BACKUP)])


def _of_the_facts(connection: Connection) -> list[tuple[str, str]]:
    found, sequences = [], {}
    for row in connection.execute(select(facts).order_by(facts.c.sequence)):
        sequences[row.id] = row.sequence
        try:
            fact = from_json(row.body)
        except Fault as fault:
            found.append((f"fact {row.sequence} ({row.id}): {fault.message}", fault.write))
            continue
        if (to_json(fact), fact.kind, fact.occurred_at, fact.replaces) != (row.body, row.kind, row.occurred_at, row.replaces):
            found.append((f"fact {row.sequence} ({row.id}): its columns say something else than its text", _BACKUP))
        if row.replaces is not None and row.replaces not in sequences:
            found.append((f"fact {row.sequence} ({row.id}) replaces a fact that does not come before it", _BACKUP))
    return found
