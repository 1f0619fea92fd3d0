"""
The ledger as JSON lines, to carry it to another machine or another kind of store. Moments are whole seconds since 1970 UTC.

Each line has the checksum that the ledger keeps, and the last line says how many there are: what was changed or cut off on the way is refused.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, TextIO

from sqlalchemy import Connection, select

from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.facts.fact import Fact, Observed, from_fields, to_json
from scheduler.ledger.checksums import insert_facts, of_fact
from scheduler.ledger.published_rows import PublishedRow, add_newer, readable, rows
from scheduler.ledger.tables import facts
from scheduler.local_time import AFTER_LATEST, EARLIEST, FIRST_YEAR, LAST_YEAR, in_years

FORM = 2  # the first had no checksums and no last line; it is taken still
_AS_WRITTEN = "the line as the export wrote it"
_UNEDITED = "an export that nobody edited"
_NAME, _FACT, _PUBLISHED, _LAST = "afterpull ledger", {"fact", "id", "recorded_at"}, {"published"}, {"lines"}
_PUBLICATION: dict[str, Any] = {"uid": str, "sequence": int, "digest": str, "last_modified": int, "content": str, "gone_since": (int, type(None))}
_LONGEST_UID = 1000  # characters; assumed


@dataclass
class Lines:
    """What an export holds: rows of facts and of publications, each with its line."""

    facts: list[tuple[int, dict[str, Any]]] = field(default_factory=list)
    publications: list[PublishedRow] = field(default_factory=list)
    form: int = FORM
    counted: int = 0
    ended: bool = False


def row(key: str, recorded_at: int, fact: Fact, body: str) -> dict[str, Any]:
    """A fact as a row of the table, without its sequence."""
    row = {"id": key, "kind": fact.kind, "occurred_at": fact.occurred_at, "recorded_at": recorded_at, "body": body, "replaces": fact.replaces}
    return {**row, "checksum": of_fact(key, recorded_at, body)}


def export(connection: Connection, stream: TextIO) -> int:
    """
    Write all of it, facts in the order they were written; returns how many facts and publications.

    A damaged fact is written with the checksum that it has, so that its line is refused elsewhere; a publication that cannot be read is left out.
    """
    stream.write(_line({_NAME: FORM}))
    count = 0
    for found in connection.execute(select(facts).order_by(facts.c.sequence)):
        checksum = json.dumps(found.checksum)
        stream.write(f'{{"checksum":{checksum},"fact":{found.body},"id":"{found.id}","recorded_at":{found.recorded_at}}}\n')
        count += 1
    for one in sorted(rows(connection)[0], key=lambda one: one.uid):
        entry = {**one._asdict(), "content": one.content.decode("utf-8")}
        stream.write(_line({"checksum": one.checksum(), "published": entry}))
        count += 1
    stream.write(_line({"lines": count}))
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
    elif not faults and lines.form > 1 and not lines.ended:
        cure = f"{_AS_WRITTEN}, or {_last(lines)} where that is meant"
        faults.append(Diagnostic(path, number + 1, 1, "the export is cut short: its last line is missing", cure))
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
        insert_facts(connection, new)
    add_newer(connection, lines.publications)
    return len(new)


def _take(lines: Lines, number: int, text: str) -> None:
    try:
        found = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise Fault("this line is not JSON", _AS_WRITTEN) from None
    keys = set(found) if isinstance(found, dict) else set()
    if number == 1:
        lines.form = _form(found)
        return
    if lines.form > 1 and keys == _LAST:
        if found["lines"] != lines.counted:
            raise Fault(f"there are {lines.counted} lines of facts and publications before this one", f"{_AS_WRITTEN}, or {_last(lines)} where that is meant")
        lines.counted, lines.ended = 0, True
        return
    own = found.pop("checksum") if lines.form > 1 and "checksum" in keys else None
    lines.counted, lines.ended = lines.counted + 1, False
    if keys - {"checksum"} == _FACT:
        fact = _fact(found)
        _verified(lines, own, fact["checksum"], "record the fact again")
        lines.facts.append((number, fact))
    elif keys - {"checksum"} == _PUBLISHED:
        publication = _publication(found["published"])
        _verified(lines, own, publication.checksum(), "run afterpull calendar, which makes the entry anew")
        lines.publications.append(publication)
    else:
        raise Fault("this line holds neither a fact nor a publication", _AS_WRITTEN)


def _verified(lines: Lines, own: object, right: str, instead: str) -> None:
    if lines.form > 1 and own != right:
        raise Fault("this line was changed since it was written: its checksum is another", f"{_AS_WRITTEN}, or take the line out and {instead}")


def _form(found: Any) -> int:
    form = found[_NAME] if isinstance(found, dict) and found.keys() == {_NAME} else None
    if isinstance(form, int) and not isinstance(form, bool) and 1 <= form <= FORM:
        return form
    cause = "this is not an export of a ledger" if form is None else "the export is of a newer form"
    raise Fault(cause, f"a file that begins with {_line({_NAME: FORM}).strip()}")


def _no_number(word: str) -> None:
    raise ValueError(word)


def _last(lines: Lines) -> str:
    return _line({"lines": lines.counted}).strip()


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


def _publication(found: Any) -> PublishedRow:
    if not isinstance(found, dict) or found.keys() != _PUBLICATION.keys() or not all(isinstance(found[name], kind) for name, kind in _PUBLICATION.items()):
        raise Fault("this is not a publication", _AS_WRITTEN)
    if isinstance(found["sequence"], bool) or isinstance(found["last_modified"], bool) or isinstance(found["gone_since"], bool):
        raise Fault("this is not a publication", _AS_WRITTEN)
    if not (found["uid"].isprintable() and 0 < len(found["uid"]) <= _LONGEST_UID and found["digest"].isprintable() and len(found["digest"]) <= _LONGEST_UID):
        raise Fault("the uid or the digest of this publication cannot be", _AS_WRITTEN)
    try:
        one = PublishedRow(**{**found, "content": found["content"].encode("utf-8")})
    except UnicodeEncodeError:
        raise Fault("the publication holds text that is not Unicode", _AS_WRITTEN) from None
    if not readable(one):
        raise Fault("this publication is no entry that a calendar can show under its uid and sequence", _AS_WRITTEN)
    return one


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")) + "\n"
