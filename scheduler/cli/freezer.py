"""`afterpull freezer`: what a freezer's own record tells of it."""

from __future__ import annotations

import click

from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened


@click.command(epilog="Example: afterpull freezer")
@click.argument("name", required=False)
@click.option("--use", is_flag=True, help="Plan with the low end of what was fitted from now on.")
@ledger_option
def freezer(name: str | None, use: bool, ledger: str | None) -> None:
    """What the logs and readings of a freezer tell of it: its surface coefficient, how it recovers from a warm load."""
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.own_freezer import agree, freezer_of, told
        from scheduler.application.record import opened_at

        moment = int(now().timestamp())
        with opened(ledger) as book:
            found = freezer_of(opened_at(book, moment), name)
            click.echo(told(found))
            if use:
                click.echo(f"Planned with {agree(book, found, moment):g} W/m2K from now on. To take it back: afterpull undo")
