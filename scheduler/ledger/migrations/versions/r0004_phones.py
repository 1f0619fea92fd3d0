"""What the page keeps: which forms were recorded, links that pair a phone once, and the phones that are paired."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the tables of the page; all of them may be emptied."""
    op.create_table(
        "marks",
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("at", sa.BigInteger, nullable=False),
        sa.Column("said", sa.Text, nullable=False),
    )
    op.create_table(
        "links",
        sa.Column("hash", sa.Text, primary_key=True),
        sa.Column("person", sa.Text, nullable=False),
        sa.Column("until", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "sessions",
        sa.Column("hash", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False, unique=True),
        sa.Column("person", sa.Text, nullable=False),
        sa.Column("paired_at", sa.BigInteger, nullable=False),
        sa.Column("seen_at", sa.BigInteger, nullable=False),
        sa.Column("until", sa.BigInteger, nullable=False),
    )
