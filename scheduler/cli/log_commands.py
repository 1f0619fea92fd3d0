"""`afterpull log|done|skip|observe|undo`: what happened, told to the ledger."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.completion import PERSON, TASK
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened

if TYPE_CHECKING:
    from scheduler.application.ledger_view import LedgerView
    from scheduler.ledger.store import Ledger


@contextmanager
def _kept(where: str | None) -> Iterator[tuple[Ledger, LedgerView, int]]:
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at

        moment = int(now().timestamp())
        with opened(where) as ledger:
            yield ledger, view_at(ledger, moment), moment


@click.command(epilog="Example: afterpull log ridge-2.yaml, or: afterpull log --harvest ridge-3 --hive north --lot 'extracted 14 medium 17.9%'")
@click.argument("files", nargs=-1, metavar="[HARVEST]...", type=click.Path(path_type=Path))
@click.option("--harvest", metavar="NAME", help="Log without a file: the harvest's name; its file is written in this folder.")
@click.option("--pulled", metavar="T", help="When the supers came off; without it, now.")
@click.option("--hive", "hives", multiple=True, metavar="HIVE", help="A hive the supers came from; may be repeated.")
@click.option("--lot", "lots", multiple=True, metavar="'KIND FRAMES FRAME [MOISTURE]'", help="One lot, such as 'cut comb 5 shallow 17.4%'; may be repeated.")
@ledger_option
def log(files: tuple[Path, ...], harvest: str | None, pulled: str | None, hives: tuple[str, ...], lots: tuple[str, ...], ledger: str | None) -> None:
    """Log a harvest from its file, or from words. The same name again takes the place of what was logged before."""
    with _kept(ledger) as (book, view, now):
        from scheduler.application import tell
        from scheduler.application.files import new_file, read_bytes
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault

        if harvest:
            from scheduler.application.templates import harvest_text

            path = Path(f"{harvest}.yaml")
            if path.exists():
                raise Fault(f"{path} exists already", f"afterpull log {path}, or another name")
            content = harvest_text(harvest, moment_of(pulled, now, view.zone), view.zone, hives, lots).encode()
            with new_file(path, content):
                names = tell.log(book, [(content, str(path))], now)
        elif files:
            names = tell.log(book, [(read_bytes(path), str(path)) for path in files], now)
        else:
            raise Fault("there is nothing to log", "the path of a harvest file, or --harvest NAME with --lot")
        click.echo(f"Logged {', '.join(names)}. What follows: afterpull agenda")
        for asked in tell.asked(book, names, now):
            click.echo(asked)


@click.command(epilog="Example: afterpull done a/cut.1 a/drain.1 --at 19:40")
@click.argument("tasks", metavar="TASK...", nargs=-1, required=True, type=TASK)
@click.option("--at", metavar="T", help="When: 19:40, 'yesterday 19:40' or 2026-08-12T19:40; without it, now.")
@click.option("--amount", type=float, metavar="N", help="Only so many of its units are done (6 of 10 pieces).")
@click.option("--hive", "hives", multiple=True, metavar="HIVE", help="A treatment only of this hive; may be repeated.")
@click.option("--whole", is_flag=True, help="A task with a hold is over altogether, not just begun.")
@click.option("--by", type=PERSON, metavar="NAME", help="Who did it, where several work in the yard.")
@ledger_option
def done(tasks: tuple[str, ...], at: str | None, amount: float | None, hives: tuple[str, ...], whole: bool, by: str | None, ledger: str | None) -> None:
    """Mark tasks as done. Of a task that holds, the first time means that the hold has begun."""
    with _kept(ledger) as (book, view, now):
        from scheduler.application import tell
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault

        if amount is not None and len(tasks) > 1:
            raise Fault("--amount is of one task", "afterpull done, once for each")
        if hives:
            if len(tasks) > 1 or amount is not None or whole:
                raise Fault("--hive is of one treatment and nothing else", f"afterpull done treatment --hive {hives[0]}")
            for one in tell.done_of_hives(book, view, tasks[0], hives, moment_of(at, now, view.zone), now, by):
                click.echo(one.words)
            return
        for said in tell.done(book, view, tasks, moment_of(at, now, view.zone), now, whole=whole, amount=amount, by=by):
            click.echo(said.words)


@click.command(epilog="Example: afterpull skip b/cappings --because 'no wax this year', or: afterpull skip b/spin --until 2026-08-14T18:00")
@click.argument("task", type=TASK)
@click.option("--because", metavar="WHY", help="It will not be done, and why.")
@click.option("--until", metavar="T", help="Not skipped, only put off: it is not to start before this time.")
@ledger_option
def skip(task: str, because: str | None, until: str | None, ledger: str | None) -> None:
    """Say that a task will not be done, or not before a time."""
    with _kept(ledger) as (book, view, now):
        from scheduler.application import tell
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault

        if (because is None) == (until is None):
            raise Fault("a task is skipped for a reason, or put off until a time", '--because "no wax this year", or --until 2026-08-14T18:00')
        said = tell.skip(book, view, task, because, now, now) if because else tell.put_off(book, view, task, moment_of(until, now, view.zone, ahead=True), now)
        click.echo(said.words)


@click.command(
    epilog="Example: afterpull observe first frost --on 2026-10-09, or: afterpull observe moisture 17.8 % --of ridge-2/a",
    context_settings={"ignore_unknown_options": True},
)
@click.argument("what", nargs=-1, required=True, metavar="WHAT...")
@click.option("--of", metavar="THING", help="The lot, freezer or store a reading is of; the hive in which foulbrood is suspected or that is treated, or all.")
@click.option("--with", "active", metavar="ACTIVE", help="The active ingredient of a treatment that begins: observe treatment begins --of all.")
@click.option("--on", metavar="DATE", help="The day on which a mark of the season was seen; without it, today.")
@click.option("--at", metavar="T", help="When a reading was taken; without it, now.")
@click.option(
    "--file",
    "file",
    type=click.Path(path_type=Path),
    help="A table (CSV) of a freezer, a hive scale or the weather, with: observe series freezer|scale|weather.",
)
@click.option("--column", metavar="NAME", help="Which column of the table is the temperature, where several could be.")
@click.option("--unit", metavar="°C|°F", help="The unit of its temperatures, where the table does not say.")
@ledger_option
def observe(
    what: tuple[str, ...],
    of: str | None,
    active: str | None,
    on: str | None,
    at: str | None,
    file: Path | None,
    column: str | None,
    unit: str | None,
    ledger: str | None,
) -> None:
    """Tell what was seen: a mark of the season, a reading with its value, or a table from an instrument."""
    with _kept(ledger) as (book, view, now):
        from datetime import date, datetime

        from scheduler.application import tell
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault
        from scheduler.local_time import in_years

        if file is not None:
            from scheduler.application.files import LARGEST_TABLE, read_bytes
            from scheduler.application.observe import record_series

            click.echo(record_series(book, view, what, of, read_bytes(file, LARGEST_TABLE), str(file), now, column=column, unit=unit))
            return
        try:
            day = date.fromisoformat(on) if on else datetime.fromtimestamp(now, view.zone).date()
        except ValueError:
            raise Fault(f'"{on}" is not a date', "2026-10-09") from None
        click.echo(tell.observe(book, view, what, of, in_years(day, day), moment_of(at, now, view.zone), now, active).words)


@click.command(epilog="Example: afterpull release ridge-2/a --because 'the label allows supers, and so does local law'")
@click.argument("lot")
@click.option("--because", required=True, metavar="WHY", help="What the label, local law, the inspector or a new reading says.")
@ledger_option
def release(lot: str, because: str, ledger: str | None) -> None:
    """Let a lot go on that a stop holds back. Local law and the product label come first. To take it back: afterpull undo."""
    with _kept(ledger) as (book, view, now):
        from scheduler.application import tell

        click.echo(tell.release(book, view, lot, because, now).words)


@click.command(epilog="Example: afterpull undo")
@ledger_option
def undo(ledger: str | None) -> None:
    """Take back the last thing that was told. Again, the one before it."""
    with refusals():
        from scheduler.application import tell
        from scheduler.application.clock import now

        with opened(ledger) as book:
            click.echo(tell.undo(book, int(now().timestamp())) or "There is nothing to take back.")
