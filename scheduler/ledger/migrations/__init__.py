"""How the tables came to be, for Alembic; imported only where a ledger is made or brought up to date."""
