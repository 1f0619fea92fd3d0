"""`afterpull pull`: before a pull, on which day how many frames can be worked up in time. Nothing is recorded."""

from __future__ import annotations

import click

from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened
from scheduler.cli.terminal import text_width


@click.command(epilog="Example: afterpull pull tomorrow --like ridge-2 --days 3")
@click.argument("day", default="tomorrow")
@click.option("--like", required=True, metavar="HARVEST", help="A logged harvest, or the path of a harvest file, with lots of the same kinds.")
@click.option("--frames", multiple=True, metavar="LOT=N", help="So many frames of this lot, whatever the rest; may be repeated.")
@click.option("--days", default=1, metavar="N", help="This day and the days after it, up to 31.")
@click.option("--odds", "likely", is_flag=True, help="Say too how many frames make it in 9 of 10 weeks: evenings are missed, work takes longer, it rains.")
@ledger_option
def pull(day: str, like: str, frames: tuple[str, ...], days: int, likely: bool, ledger: str | None) -> None:
    """For each day: the most frames that miss no limit, what one more would miss, when wet frames go back and mites are treated."""
    with refusals():
        from scheduler.application import before_pull
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at
        from scheduler.application.lookup import moment_of
        from scheduler.outputs.text import pull_table

        moment, width = int(now().timestamp()), text_width()
        with opened(ledger) as book:
            view = view_at(book, moment)
        template = before_pull.template_of(view, like, frames)
        rows = before_pull.days(view, template, moment_of(day, moment, view.zone, ahead=True), days, moment, likely=likely)
        found = []
        for number, one in enumerate(rows):
            if number == 0:
                click.echo("\n".join(pull_table.heading(template.harvest, width)))
            found.append(one)
            click.echo("\n".join(pull_table.row(one, view.zone, width)))
        click.echo("\n".join(pull_table.best(found, template.harvest, view.zone, width)))
