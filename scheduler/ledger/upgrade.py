"""Which revision of the tables a store has, and bringing it to this program's. Alembic is imported only where there is something to do."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, text

from scheduler.ledger import sqlite_file
from scheduler.ledger.connections import Connections
from scheduler.ledger.database_words import refused
from scheduler.ledger.tables import REVISIONS

HEAD = REVISIONS[-1]


def bring_up(connections: Connections, dumped: bool = False) -> None:
    """
    Bring the tables to this program's revision. A file is copied beside itself first; what lies on a server waits until the keeper has a dump.

    Raises `Refused` where the tables are newer, and where they lie on a server and are older, unless `dumped`.
    """
    with connections.reading() as connection:
        found = revision(connection)
    if found == HEAD:
        return
    if found is not None and found not in REVISIONS:
        newer = f"the ledger was written by a newer afterpull (revision {found}; this one knows up to {HEAD}); it was left as it is"
        raise refused(connections.place, newer, "it with the newer afterpull")
    if found is not None and connections.is_file:
        path = Path(connections.place)
        kept = path.with_name(f"{path.name}.before-{HEAD}")
        if not kept.exists():  # two programs may find the same old ledger at once
            sqlite_file.copy(connections, kept)
    if found is not None and not connections.is_file and not dumped:
        older = f"the ledger was written by an older afterpull (revision {found}; this one needs {HEAD}); it was left as it is"
        raise refused(connections.place, older, f"first: {_dump(connections)}; then: afterpull ledger migrate --yes")
    migrate(connections)


def _dump(connections: Connections) -> str:
    """The command that dumps the database of a server."""
    return f'pg_dump --format=custom --file=ledger-before-{HEAD}.dump "{connections.place}"'


def revision(connection: Connection) -> str | None:
    """The revision of the tables, None where there are none yet."""
    if connection.dialect.name == "sqlite":
        there = connection.execute(text("SELECT 1 FROM sqlite_master WHERE name = 'alembic_version'")).scalar()
    else:
        there = connection.execute(text("SELECT to_regclass('alembic_version')")).scalar()
    return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()) if there else None


def migrate(connections: Connections, target: str = HEAD) -> None:
    """Run the migrations that are missing up to `target`, in one transaction: all of them or none."""
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={})
    config.set_main_option("path_separator", "os")
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")).replace("%", "%%"))
    with connections.writing() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, target)
