"""The tables as queries see them. The migrations make them; a test holds the two together. Moments are whole seconds since 1970 UTC."""

from __future__ import annotations

from sqlalchemy import BigInteger, Column, ForeignKey, Integer, LargeBinary, MetaData, Table, Text

REVISIONS = ("0001", "0002", "0003", "0004")  # in the order of the migrations; the last is what this program writes

# SQLite numbers rows only in a column that is declared INTEGER; there it holds 64 bits anyway.
WIDE = BigInteger().with_variant(Integer(), "sqlite")

metadata = MetaData()

facts = Table(
    "facts",
    metadata,
    Column("sequence", WIDE, primary_key=True, autoincrement=True),
    Column("id", Text, nullable=False, unique=True),
    Column("kind", Text, nullable=False),
    Column("occurred_at", BigInteger, nullable=False),
    Column("recorded_at", BigInteger, nullable=False),
    Column("body", Text, nullable=False),  # JSON of scheduler.facts.fact; text, so that its bytes stay
    Column("replaces", Text, ForeignKey("facts.id")),
    Column("checksum", Text, nullable=False, server_default=""),  # scheduler.ledger.checksums
    sqlite_autoincrement=True,
)

published = Table(
    "published",
    metadata,
    Column("uid", Text, primary_key=True),
    Column("sequence", Integer, nullable=False),
    Column("digest", Text, nullable=False),
    Column("last_modified", BigInteger, nullable=False),
    Column("content", LargeBinary, nullable=False),
    Column("gone_since", BigInteger),
    Column("checksum", Text, nullable=False, server_default=""),
)

sums = Table(
    "sums",
    metadata,
    Column("of", Text, primary_key=True),  # "facts" or "published"
    Column("number", BigInteger, nullable=False),  # the last sequence of the facts; how many were published
    Column("checksum", Text, nullable=False),
)

alerts = Table(
    "alerts",
    metadata,
    Column("id", Text, primary_key=True),
    Column("task", Text, nullable=False),
    Column("due_at", BigInteger, nullable=False),
    Column("say", Text, nullable=False),
    Column("loss", Text, nullable=False),
    Column("next_attempt_at", BigInteger, index=True),
    Column("told_at", BigInteger),
    Column("channel", Text),
    Column("acknowledged_at", BigInteger),
    Column("attempts", Integer, nullable=False, default=0),
    Column("failure", Text),
    Column("claimed_by", Text),
    Column("claimed_until", BigInteger),
)

leases = Table(
    "leases",
    metadata,
    Column("name", Text, primary_key=True),
    Column("owner", Text, nullable=False),
    Column("until", BigInteger, nullable=False),
)

seen = Table(
    "seen",
    metadata,
    Column("reader", Text, primary_key=True),
    Column("at", BigInteger, nullable=False),
    Column("plan", Text, nullable=False),
)

marks = Table(
    "marks",
    metadata,
    Column("key", Text, primary_key=True),  # of a form of the page
    Column("at", BigInteger, nullable=False),
    Column("said", Text, nullable=False),
)

links = Table(
    "links",
    metadata,
    Column("hash", Text, primary_key=True),  # SHA-256 of the secret
    Column("person", Text, nullable=False),
    Column("until", BigInteger, nullable=False),
)

sessions = Table(
    "sessions",
    metadata,
    Column("hash", Text, primary_key=True),
    Column("name", Text, nullable=False, unique=True),  # by which the keeper revokes it
    Column("person", Text, nullable=False),
    Column("paired_at", BigInteger, nullable=False),
    Column("seen_at", BigInteger, nullable=False),
    Column("until", BigInteger, nullable=False),
)
