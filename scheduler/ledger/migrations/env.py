"""What Alembic runs: the revisions, on the connection and inside the transaction that `scheduler.ledger.upgrade` opened."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
