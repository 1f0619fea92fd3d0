"""A checksum for each fact and for each state that was published, and a sum over either, by which damage is found."""

import sqlalchemy as sa
from alembic import op

from scheduler.ledger.checksums import FACTS, NOTHING, PUBLISHED, added, of_fact, of_publications
from scheduler.ledger.published_rows import PublishedRow, readable

revision = "0003"
down_revision = "0002"

_FACTS = "SELECT sequence, id, recorded_at, body FROM facts ORDER BY sequence"
_PUBLISHED = "SELECT uid, sequence, digest, last_modified, content, gone_since FROM published"


def upgrade() -> None:
    """Give every fact its checksum, and every published state that can be read; one that cannot stays without, and is made anew."""
    for table in ("facts", "published"):
        op.add_column(table, sa.Column("checksum", sa.Text, nullable=False, server_default=""))
    made = op.create_table(
        "sums",
        sa.Column("of", sa.Text, primary_key=True),
        sa.Column("number", sa.BigInteger, nullable=False),
        sa.Column("checksum", sa.Text, nullable=False),
    )
    connection, file = op.get_bind(), op.get_bind().dialect.name == "sqlite"
    guard = connection.execute(sa.text("SELECT sql FROM sqlite_master WHERE name = 'facts_no_update'")).scalar_one() if file else ""
    op.execute("DROP TRIGGER facts_no_update" if file else "ALTER TABLE facts DISABLE TRIGGER facts_no_change")
    sum_ = NOTHING
    for row in connection.execute(sa.text(_FACTS)).all():
        own = of_fact(row.id, row.recorded_at, row.body)
        connection.execute(sa.text("UPDATE facts SET checksum = :own WHERE sequence = :sequence"), {"own": own, "sequence": row.sequence})
        sum_ = added(sum_, row.sequence, own)
    op.execute(guard if file else "ALTER TABLE facts ENABLE TRIGGER facts_no_change")
    published = [PublishedRow(*row) for row in connection.execute(sa.text(_PUBLISHED)).all()]
    sums = {row.uid: row.checksum() if readable(row) else "" for row in published}
    for uid, own in sums.items():
        connection.execute(sa.text("UPDATE published SET checksum = :own WHERE uid = :uid"), {"own": own, "uid": uid})
    rows = zip((FACTS, PUBLISHED), (sum_, of_publications(sums.values())), strict=True)
    op.bulk_insert(made, [{"of": of, "number": number, "checksum": own} for of, (number, own) in rows])
