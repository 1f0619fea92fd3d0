"""A ledger of another version of the program."""

from __future__ import annotations

from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from click.testing import CliRunner
from sqlalchemy import text

from scheduler.cli import main
from scheduler.diagnostics import Refused
from scheduler.facts.fact import to_json
from scheduler.ledger import location, sqlite_file, upgrade
from scheduler.ledger.connections import Connections
from scheduler.ledger.store import Ledger
from scheduler.ledger.tables import REVISIONS, metadata
from scheduler.outputs.calendar.publication import Published
from tests.facts.recorded import FROST, HARVEST, HOUR, PULLED
from tests.stores import connections_of

NOW = PULLED + 100 * HOUR


def test_migrations_and_tables_say_the_same(ledger: Ledger) -> None:
    """What the migrations make is what the queries expect, with nothing over."""
    with connections_of(ledger).reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
        assert upgrade.revision(connection) == REVISIONS[-1]


def test_a_ledger_of_an_older_program_is_brought_up_with_its_facts(tmp_path: Path) -> None:
    """Its facts are kept, and so is a copy of it as it was."""
    path = tmp_path / "ledger.sqlite"
    older(path)
    with Ledger.open(path) as ledger:
        assert [one.fact for one in ledger.facts()] == [FROST]
        assert ledger.alerts.all() == ()
        assert ledger.check() == []
    kept = Connections.to_file(tmp_path / "ledger.sqlite.before-0004")
    with kept.reading() as connection:
        assert upgrade.revision(connection) == "0001"
        assert connection.execute(text("SELECT count(*) FROM facts")).scalar_one() == 1
    kept.close()


@pytest.mark.system
@pytest.mark.parametrize("where", ["postgresql"], indirect=True)
def test_an_older_ledger_on_a_server_waits_for_a_dump(where: str) -> None:
    """It says which one to take, without the password, and leaves the tables alone until the keeper says yes."""
    connections = Connections(location.server(where))
    upgrade.migrate(connections, REVISIONS[0])
    frost(connections)
    told = where.replace("postgres@", "postgres:a-secret@")
    refused = CliRunner().invoke(main, ["ledger", "migrate", "--ledger", told])
    assert refused.exit_code == 2
    assert f'first: pg_dump --format=custom --file=ledger-before-0004.dump "{where}"; then: afterpull ledger migrate --yes' in refused.output
    assert "a-secret" not in refused.output
    with connections.reading() as connection:
        assert upgrade.revision(connection) == REVISIONS[0]
    assert CliRunner().invoke(main, ["ledger", "migrate", "--yes", "--ledger", told]).exit_code == 0
    with Ledger.open(where) as ledger:
        assert [one.fact for one in ledger.facts()] == [FROST]
        assert ledger.check() == []
        with pytest.raises(Refused, match="facts are never changed or removed"), connections.writing() as connection:
            connection.execute(text("UPDATE facts SET recorded_at = 2"))
    connections.close()


def test_what_was_published_and_can_not_be_read_gets_no_checksum_from_a_newer_program(where: str) -> None:
    """Its facts and the entries that read well do; the damaged one is reported, and made anew at the next publication."""
    if where.startswith("postgresql"):
        connections = Connections(location.server(where))
        upgrade.migrate(connections, REVISIONS[1])
    else:
        sqlite_file.create(Path(where), lambda connections: upgrade.migrate(connections, REVISIONS[1]), 1.0)
        connections = Connections.to_file(Path(where))
    entry = b"BEGIN:VEVENT\r\nUID:%s\r\nSEQUENCE:4\r\nEND:VEVENT\r\n"
    frost(connections)
    with connections.writing() as connection:
        statement = "INSERT INTO published (uid, sequence, digest, last_modified, content) VALUES (:uid, 4, 'd', :at, :content)"
        connection.execute(text(statement), [{"uid": "a", "at": NOW, "content": entry % b"a"}, {"uid": "b", "at": NOW, "content": entry % b"c"}])
    connections.close()
    with Ledger.open(where, dumped=True) as ledger:
        assert list(ledger.outgoing.published(Published)) == ["a"]
        [found] = ledger.check()
        assert "some of what was published last is not as it was written" in found.message


def test_a_ledger_of_a_newer_program_is_refused(where: str) -> None:
    """It is not read as if it were ours, and not written."""
    with Ledger.open(where) as ledger:
        ledger.append([HARVEST], NOW)
        with connections_of(ledger).writing() as connection:
            connection.execute(text("UPDATE alembic_version SET version_num = '0099'"))
    with pytest.raises(Refused, match=r"written by a newer afterpull \(revision 0099; this one knows up to 0004\); it was left as it is"):
        Ledger.open(where)


def older(path: Path) -> None:
    """A ledger of the first revision with one fact in it."""
    sqlite_file.create(path, lambda connections: upgrade.migrate(connections, REVISIONS[0]), 1.0)
    connections = Connections.to_file(path)
    frost(connections)
    connections.close()


def frost(connections: Connections) -> None:
    """One fact, as a program of the first revision wrote it."""
    with connections.writing() as connection:
        statement = "INSERT INTO facts (id, kind, occurred_at, recorded_at, body) VALUES (:id, 'observed', :at, 1, :body)"
        connection.execute(text(statement), {"id": "b" * 32, "at": FROST.occurred_at, "body": to_json(FROST)})
