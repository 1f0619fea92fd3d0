"""`afterpull calendar`: the plan as an iCalendar file, and whether a calendar file is sound."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.cli.completion import PERSON, PLACE, STREAM
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened


@click.group(invoke_without_command=True, epilog="Example: afterpull calendar --out yard.ics, or: afterpull calendar check yard.ics")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE.ics", help="Where to. Default: standard output.")
@click.option("--todos", is_flag=True, help="To-dos for a task list instead of events.")
@click.option("--holds", is_flag=True, help="Show holds too, as events that take no busy time.")
@click.option("--hands-on", is_flag=True, help="Leave out what asks for nobody's hands.")
@click.option("--yard", "yards", multiple=True, metavar="NAME", help="Only this yard, where the ledger has known several; may be repeated.")
@click.option("--stream", "streams", type=STREAM, multiple=True, metavar="S", help='Only this stream, such as "cut comb"; may be repeated.')
@click.option("--at", "places", type=PLACE, multiple=True, metavar="PLACE", help='Only work at this place, such as "apiary"; may be repeated.')
@click.option("--for", "people", type=PERSON, multiple=True, metavar="NAME", help="Only the work of this person, or of the keeper; may be repeated.")
@click.option("--all", "everything", is_flag=True, help="Everything: also what lies more than three weeks ahead and is not the next of its kind.")
@ledger_option
@click.pass_context
def calendar(
    ctx: click.Context,
    out: Path | None,
    todos: bool,
    holds: bool,
    hands_on: bool,
    yards: tuple[str, ...],
    streams: tuple[str, ...],
    places: tuple[str, ...],
    people: tuple[str, ...],
    everything: bool,
    ledger: str | None,
) -> None:
    """Write the plan that follows from the ledger as a calendar file, every entry under its lasting UID."""
    if ctx.invoked_subcommand is not None:
        return
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.files import write_bytes
        from scheduler.application.publish import REMADE, publish_plan, select
        from scheduler.outputs.wording.sentence import METRIC, in_words

        wanted = select(todos=todos, holds=holds, hands_only=hands_on, yards=yards, streams=streams, places=places, people=people, everything=everything)
        with opened(ledger) as book:
            sent = publish_plan(book, int(now().timestamp()))
            content = sent.calendar(wanted)
        if sent.remade:
            click.echo(in_words(REMADE, METRIC), err=True)
        if out is None:
            click.echo(content, nl=False)
        else:
            write_bytes(out, content)
            click.echo(f"{out}: {content.count(b'BEGIN:VTODO' if todos else b'BEGIN:VEVENT')} entries", err=True)


@calendar.command(epilog="Example: afterpull calendar check yard.ics")
@click.argument("file", type=click.Path(path_type=Path))
def check(file: Path) -> None:
    """Check any iCalendar file: octets, required properties, zones, relations. Needs no ledger."""
    with refusals():
        from scheduler.application.files import LARGEST_TABLE, read_bytes
        from scheduler.diagnostics import Refused
        from scheduler.outputs.calendar.check import check as checked

        faults = checked(read_bytes(file, LARGEST_TABLE), str(file))
        if faults:
            raise Refused(faults)
        click.echo(f"{file}: sound")
