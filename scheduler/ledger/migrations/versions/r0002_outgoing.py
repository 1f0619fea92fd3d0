"""What went out and may be overwritten: publications, alerts, who watches, the plan last seen."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables of what went out, which may be overwritten."""
    op.create_table(
        "published",
        sa.Column("uid", sa.Text, primary_key=True),
        sa.Column("sequence", sa.Integer, nullable=False),
        sa.Column("digest", sa.Text, nullable=False),
        sa.Column("last_modified", sa.BigInteger, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.Column("gone_since", sa.BigInteger),
    )
    op.create_table(
        "alerts",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("task", sa.Text, nullable=False),
        sa.Column("due_at", sa.BigInteger, nullable=False),
        sa.Column("say", sa.Text, nullable=False),
        sa.Column("loss", sa.Text, nullable=False),
        sa.Column("next_attempt_at", sa.BigInteger, index=True),
        sa.Column("told_at", sa.BigInteger),
        sa.Column("channel", sa.Text),
        sa.Column("acknowledged_at", sa.BigInteger),
        sa.Column("attempts", sa.Integer, nullable=False),
        sa.Column("failure", sa.Text),
        sa.Column("claimed_by", sa.Text),
        sa.Column("claimed_until", sa.BigInteger),
    )
    op.create_table(
        "leases",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("owner", sa.Text, nullable=False),
        sa.Column("until", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "seen",
        sa.Column("reader", sa.Text, primary_key=True),
        sa.Column("at", sa.BigInteger, nullable=False),
        sa.Column("plan", sa.Text, nullable=False),
    )
