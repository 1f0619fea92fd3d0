"""`afterpull ledger`: the facts as a whole."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.cli.errors import InputRefused, refusals
from scheduler.cli.ledger_option import ledger_option, opened


@click.group(epilog="Example: afterpull ledger backup ledger-2026-11-25.sqlite")
def ledger() -> None:
    """Export, import, check, back up or migrate the ledger. Facts are never edited: a correction is a new fact."""


@ledger.command(epilog="Example: afterpull ledger export facts.jsonl")
@click.argument("out", type=click.Path(path_type=Path))
@ledger_option
def export(out: Path, ledger: str | None) -> None:
    """Write every fact as JSON lines."""
    with refusals():
        import io

        from scheduler.application.files import write_bytes

        with opened(ledger) as book:
            text = io.StringIO()
            count = book.export(text)
        write_bytes(out, text.getvalue().encode())
    click.echo(f"{count} lines written to {out}")


@ledger.command(name="import", epilog="Example: afterpull ledger import facts.jsonl")
@click.argument("file", type=click.Path(path_type=Path))
@ledger_option
def import_(file: Path, ledger: str | None) -> None:
    """Add what an export holds and this ledger does not."""
    with refusals():
        from scheduler.application import clock
        from scheduler.application.carry_over import import_facts
        from scheduler.application.files import LARGEST_EXPORT, read_bytes

        text = read_bytes(file, LARGEST_EXPORT).decode()
        with opened(ledger, create=True) as book:
            count = import_facts(book, text, str(file), int(clock.now().timestamp()))
    click.echo(f"{count} facts were new")


@ledger.command(epilog="Example: afterpull ledger check")
@ledger_option
def check(ledger: str | None) -> None:
    """Read all of the ledger and say what is wrong with it."""
    with refusals(), opened(ledger) as book:
        faults = book.check()
    if faults:
        raise InputRefused("\n".join(map(str, faults)))
    click.echo("nothing is wrong")


@ledger.command(epilog="Example: afterpull ledger backup ledger-2026-11-25.sqlite")
@click.argument("target", type=click.Path(path_type=Path))
@ledger_option
def backup(target: Path, ledger: str | None) -> None:
    """Copy the whole ledger into a new file."""
    with refusals(), opened(ledger) as book:
        book.backup(target)
    click.echo(f"copied to {target}")


@ledger.command(epilog="Example: afterpull ledger migrate --yes")
@click.option("--yes", is_flag=True, help="There is a dump: change the tables.")
@ledger_option
def migrate(yes: bool, ledger: str | None) -> None:
    """Bring a ledger on a server to this version of afterpull.

    Without --yes it says which dump to take first. A file needs no such word: whatever opens it first copies it beside itself.
    """
    with refusals(), opened(ledger, dumped=yes) as book:
        click.echo(f"{book.place} is of this version")
