"""Facts, which nothing may change or remove."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

REFUSE = "facts are never changed or removed; a correction is a new fact"


def upgrade() -> None:
    """Make the table of facts, which nothing changes or removes."""
    op.create_table(
        "facts",
        sa.Column("sequence", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), primary_key=True, autoincrement=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("occurred_at", sa.BigInteger, nullable=False),
        sa.Column("recorded_at", sa.BigInteger, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("replaces", sa.Text, sa.ForeignKey("facts.id")),
        sqlite_autoincrement=True,
    )
    if op.get_bind().dialect.name == "sqlite":
        for deed in ("UPDATE", "DELETE"):
            op.execute(f"CREATE TRIGGER facts_no_{deed.lower()} BEFORE {deed} ON facts BEGIN SELECT RAISE(ABORT, '{REFUSE}'); END")
        return
    op.execute(f"CREATE FUNCTION facts_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '{REFUSE}'; END $$")
    op.execute("CREATE TRIGGER facts_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON facts FOR EACH STATEMENT EXECUTE FUNCTION facts_refuse()")
