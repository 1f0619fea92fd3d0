"""The ledger as JSON lines, to carry it to another machine or another kind of store. Moments are whole seconds since 1970 UTC."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, TextIO

from sqlalchemy import Connection, delete, insert, select

from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.facts.fact import Fact, Observed, from_fields, to_json
from scheduler.ledger.tables import facts, published
from scheduler.local_time import AFTER_LATEST, EARLIEST, FIRST_YEAR, LAST_YEAR, in_years

FORM = 1
_AS_WRITTEN = "the line as the export wrote it"
_UNEDITED = "an export that nobody edited"
_FIRST = {"afterpull ledger": FORM}
_PUBLICATION: dict[str, Any] = {"uid": str, "sequence": int, "digest": str, "last_modified": int, "content": str, "gone_since": (int, type(None))}


@dataclass
class Lines:
    """What an export holds: rows of facts and of publications, each with its line."""

    facts: list[tuple[int, dict[str, Any]]] = field(default_factory=list)
    publications: list[dict[str, Any]] = field(default_factory=list)


def row(key: str, recorded_at: int, fact: Fact, body: str) -> dict[str, Any]:
    """A fact as a row of the table, without its sequence."""
    return {"id": key, "kind": fact.kind, "occurred_at": fact.occurred_at, "recorded_at": recorded_at, "body": body, "replaces": fact.replaces}


def export(connection: Connection, stream: TextIO) -> int:
    """Write all of it, facts in the order they were written; returns the number of lines after the first."""
    stream.write(_line(_FIRST))
    count = 0
    for found in connection.execute(select(facts).order_by(facts.c.sequence)):
        stream.write(f'{{"fact":{found.body},"id":"{found.id}","recorded_at":{found.recorded_at}}}\n')
        count += 1
    for entry in connection.execute(select(published).order_by(published.c.uid)).mappings():
        stream.write(_line({"published": {**entry, "content": bytes(entry["content"]).decode("utf-8")}}))
        count += 1
    return count


def parse(stream: Iterable[str], path: str) -> Lines:
    """The lines of an export. Raises `Refused` with every bad line."""
    lines, faults, number = Lines(), [], 0
    try:
        for number, text in enumerate(stream, 1):
            try:
                _take(lines, number, text)
            except Fault as fault:
                faults.append(Diagnostic(path, number, 1, fault.message, fault.write))
    except UnicodeDecodeError:
        faults.append(Diagnostic(path, number + 1, 1, "this is not UTF-8 text", "the file as the export wrote it"))
    if not number and not faults:
        faults.append(Diagnostic(path, 0, 0, "the file is empty", "a file that `afterpull ledger export` wrote"))
    if faults:
        raise Refused(faults)
    return lines


def add(connection: Connection, lines: Lines, path: str) -> int:
    """
    Add what is new, in the order of the lines; returns the number of new facts.

    A fact that is here already must be the same one. Of a publication the higher SEQUENCE is kept, so that subscribers go on believing it.
    """
    known = {found.id: (found.body, found.recorded_at) for found in connection.execute(select(facts.c.id, facts.c.body, facts.c.recorded_at))}
    new: list[dict[str, Any]] = []
    faults: list[Diagnostic] = []
    for number, one in lines.facts:
        replaces, content = one["replaces"], (one["body"], one["recorded_at"])
        if one["id"] in known:
            if known[one["id"]] != content:
                faults.append(Diagnostic(path, number, 1, f"the fact {one['id']} is in the ledger with another content", _UNEDITED))
            continue
        if replaces is not None and replaces not in known:
            faults.append(Diagnostic(path, number, 1, f"this replaces the fact {replaces}, which does not come before it", _UNEDITED))
        known[one["id"]] = content
        new.append(one)
    if faults:
        raise Refused(faults)
    if new:
        connection.execute(insert(facts), new)
    _publications(connection, lines.publications)
    return len(new)


def _publications(connection: Connection, given: Iterable[dict[str, Any]]) -> None:
    here = {found.uid: found.sequence for found in connection.execute(select(published.c.uid, published.c.sequence))}
    newer = {one["uid"]: one for one in given if one["sequence"] > here.get(one["uid"], -1)}
    for uid in newer.keys() & here.keys():
        connection.execute(delete(published).where(published.c.uid == uid))
    if newer:
        connection.execute(insert(published), list(newer.values()))


def _take(lines: Lines, number: int, text: str) -> None:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        raise Fault("this line is not JSON", _AS_WRITTEN) from None
    if number == 1:
        if found != _FIRST:
            newer = isinstance(found, dict) and found.keys() == _FIRST.keys()
            raise Fault("the export is of a newer form" if newer else "this is not an export of a ledger", f"a file that begins with {_line(_FIRST).strip()}")
    elif isinstance(found, dict) and found.keys() == {"fact", "id", "recorded_at"}:
        lines.facts.append((number, _fact(found)))
    elif isinstance(found, dict) and found.keys() == {"published"}:
        lines.publications.append(_publication(found["published"]))
    else:
        raise Fault("this line holds neither a fact nor a publication", _AS_WRITTEN)


def _fact(found: dict[str, Any]) -> dict[str, Any]:
    key, recorded_at = found["id"], found["recorded_at"]
    if not (isinstance(key, str) and len(key) == 32 and not set(key) - set("0123456789abcdef")):
        raise Fault("the id is not 32 hexadecimal digits", _AS_WRITTEN)
    if not isinstance(recorded_at, int) or isinstance(recorded_at, bool):
        raise Fault("recorded_at is not a whole number of seconds", _AS_WRITTEN)
    if not EARLIEST <= recorded_at < AFTER_LATEST:
        raise Fault(f"recorded_at lies outside the years {FIRST_YEAR} to {LAST_YEAR}", _AS_WRITTEN)
    fact = from_fields(found["fact"])
    if isinstance(fact, Observed):
        in_years(fact.on, fact.on)
    return row(key, recorded_at, fact, to_json(fact))


def _publication(found: Any) -> dict[str, Any]:
    if not isinstance(found, dict) or found.keys() != _PUBLICATION.keys() or not all(isinstance(found[name], kind) for name, kind in _PUBLICATION.items()):
        raise Fault("this is not a publication", _AS_WRITTEN)
    return {**found, "content": found["content"].encode("utf-8")}


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")) + "\n"
