"""Checksums of what is kept, by which damage is found. They hold no key: whoever means to change a fact can make its checksum too.

Each fact has one of its own, over its id, when it was written down and its text: it is the same in every ledger and in an export, so one changed line
is named alone, and ledgers that flow together keep theirs. A chain, in which each covers the one before it, would be another in each ledger and
would leave nothing to verify after the first damaged fact. What a checksum of one fact cannot see, that a fact is gone, is another's copy or
has changed its place, is seen by the sum: one row, carried on with each writing over the sequences and checksums of all facts. What was published
has a checksum for each row and a sum over all of them in the same way.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from hashlib import blake2b
from typing import Any

from sqlalchemy import Connection, delete, insert, select
from sqlalchemy.exc import DBAPIError

from scheduler.ledger.tables import facts, published, sums

FACTS, PUBLISHED = "facts", "published"  # whose sum a row is
NOTHING: tuple[object, object] = (0, "")  # the sum of none: the last sequence, and the checksum


def checksum(*values: object) -> str:
    """32 hexadecimal digits (BLAKE2b, 128 bits) of values with their types and lengths, so that no two rows run into the same text."""
    found = blake2b(digest_size=16)
    for value in values:
        raw = value.encode("utf-8", "surrogateescape") if isinstance(value, str) else value if isinstance(value, bytes) else repr(value).encode()
        found.update(f"{type(value).__name__} {len(raw)} ".encode() + raw)
    return found.hexdigest()


def of_fact(key: object, recorded_at: object, body: object) -> str:
    """The checksum of a fact; its other columns are read off its text."""
    return checksum(key, recorded_at, body)


def added(sum_: tuple[object, object], sequence: object, of_one: object) -> tuple[object, object]:
    """The sum of facts with one more behind them."""
    return sequence, checksum(sum_[1], sequence, of_one)


def of_publications(each: Iterable[str]) -> tuple[int, str]:
    """The sum of what was published, from the checksums of its rows in any order."""
    ordered = sorted(each)
    return len(ordered), checksum(*ordered)


@contextlib.contextmanager
def any_text(connection: Connection) -> Iterator[None]:
    """Text that is not UTF-8 is read all the same, so that one damaged value of a file neither hides nor stops the others."""
    driver: Any = connection.connection.driver_connection
    if connection.dialect.name != "sqlite":
        yield
        return
    before, driver.text_factory = driver.text_factory, lambda raw: raw.decode("utf-8", "surrogateescape")
    try:
        yield
    finally:
        driver.text_factory = before


def kept(connection: Connection, of: str) -> tuple[object, object]:
    """The sum as it was written; that of none where it cannot be read."""
    with any_text(connection), contextlib.suppress(DBAPIError):
        for row in connection.execute(select(sums.c.number, sums.c.checksum).where(sums.c.of == of)):
            return row.number, row.checksum
    return NOTHING


def keep(connection: Connection, of: str, sum_: tuple[object, object]) -> None:
    """Write a sum down."""
    connection.execute(delete(sums).where(sums.c.of == of))
    connection.execute(insert(sums).values(of=of, number=sum_[0], checksum=sum_[1]))


def insert_facts(connection: Connection, rows: Sequence[dict[str, Any]]) -> list[int]:
    """Write facts down, each with its checksum, and carry their sum on; returns their sequences, in their order."""
    sequences = list(connection.execute(insert(facts).returning(facts.c.sequence, sort_by_parameter_order=True), list(rows)).scalars())
    sum_ = kept(connection, FACTS)
    for sequence, row in zip(sequences, rows, strict=True):
        sum_ = added(sum_, sequence, row["checksum"])
    keep(connection, FACTS, sum_)
    return sequences


def sum_publications(connection: Connection) -> None:
    """Write down the sum of what stands published now."""
    keep(connection, PUBLISHED, of_publications(connection.execute(select(published.c.checksum)).scalars()))
