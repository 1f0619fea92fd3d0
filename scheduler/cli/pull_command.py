"""`afterpull pull`: before a pull, whether it is time, and on which day how many frames can be worked up in time. Nothing is recorded without --as."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened
from scheduler.cli.quantity_options import option
from scheduler.cli.terminal import text_width

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from scheduler.application.ledger_view import LedgerView


@click.command(epilog="Example: afterpull pull, or: afterpull pull tomorrow --like ridge-2 --no-odds")
@click.argument("day", required=False)
@click.option("--like", metavar="HARVEST", help="A logged harvest, or the path of a harvest file, with lots of the same kinds.")
@click.option("--frames", multiple=True, metavar="LOT=N", help="So many frames of this lot, whatever the rest; may be repeated.")
@click.option("--days", default=1, metavar="N", help="This day and the days after it, up to 31.")
@click.option(
    "--odds/--no-odds", "likely", default=True, help="How many frames make it in 9 of 10 weeks, too: evenings are missed, work takes longer. Default: yes."
)
@click.option("--as", "name", metavar="NAME", help="Plan it: the best of these days becomes the harvest NAME, written to NAME.yaml and logged.")
@click.option("--picture", metavar="FILE.svg", type=click.Path(path_type=Path), help="Draw the days too.")
@option("--capped", "share", 'Without --like: how much of a sample of frames is capped, such as "80 %".')
@option("--moisture", "share", 'Without --like: the water in their honey, such as "17.8 %".')
@click.option("--of", "apiary", metavar="APIARY", help="Without --like: of one apiary, where the yard file names several.")
@ledger_option
def pull(
    day: str | None,
    like: str | None,
    frames: tuple[str, ...],
    days: int,
    likely: bool,
    name: str | None,
    picture: Path | None,
    capped: float | None,
    moisture: float | None,
    apiary: str | None,
    ledger: str | None,
) -> None:
    """
    Is it time? What speaks for pulling now and what against, each with its number.

    With --like, for each day: the most frames that miss no limit, how many make it in 9 of 10 weeks, what one more would miss, and what follows.
    """
    with refusals():
        from scheduler.application import before_pull
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault
        from scheduler.outputs.text import pull_table

        moment, width = int(now().timestamp()), text_width()
        with opened(ledger) as book:
            view = view_at(book, moment)
        if like is None:
            if day is not None or frames or name or picture:
                raise Fault("how many frames on which day depends on the lots", f"afterpull pull {day or 'tomorrow'} --like HARVEST, logged or a file")
            click.echo(_is_it_time(view, capped, moisture, apiary, moment, width), nl=False)
            return
        if capped is not None or moisture is not None or apiary is not None:
            raise Fault("--capped, --moisture and --of ask whether it is time", "afterpull pull without --like")
        template = before_pull.template_of(view, like, frames)
        rows = before_pull.days(view, template, moment_of(day or "tomorrow", moment, view.zone, ahead=True), days, moment, likely=likely)
        found: list[pull_table.Day] = []
        try:
            for one in rows:
                if not found:
                    click.echo("\n".join(pull_table.heading(template.harvest, width)))
                found.append(one)
                click.echo("\n".join(pull_table.row(one, view.zone, width)))
        except KeyboardInterrupt:  # the days so far stand
            if not found or name is not None:
                raise
        if picture is not None:
            from scheduler.application.files import write_bytes
            from scheduler.outputs.pictures.pull_days import svg

            write_bytes(picture, svg(found, f"A pull like {template.harvest.harvest}", view.zone))
        if name is None:
            click.echo("\n".join(pull_table.best(before_pull.best_of(found), template.harvest, view.zone, width)))
            return
        _planned(ledger, *before_pull.planned(view, template, found, name), name, view.zone)


def _planned(ledger: str | None, text: str, pulled: int, name: str, zone: ZoneInfo) -> None:
    """Write the harvest file of a pull to come, and log it."""
    from scheduler.application import tell
    from scheduler.application.clock import now
    from scheduler.application.files import new_file
    from scheduler.local_time import spoken

    path = tell.path_of_new(name)
    with opened(ledger) as book, new_file(path, text.encode()):
        tell.log(book, [(text.encode(), str(path))], int(now().timestamp()))
    click.echo(f"\nPlanned for {spoken(pulled, zone)}: {path}. What comes before it: afterpull agenda")


def _is_it_time(view: LedgerView, capped: float | None, moisture: float | None, apiary: str | None, moment: int, width: int) -> str:
    from scheduler.application.before_pull import is_it_time_text
    from scheduler.application.yard_check import known_apiary
    from scheduler.planning.is_it_time import Sample

    place = known_apiary(apiary, view.yard.apiaries) if apiary is not None else None
    return is_it_time_text(view, Sample(capped, moisture), place, moment, width)
