"""`afterpull log|done|skip|observe|undo`: what happened, told to the ledger."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.asking import agreed, at_terminal
from scheduler.cli.completion import PERSON, TASK
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened
from scheduler.cli.table_options import table_options

if TYPE_CHECKING:
    from scheduler.application.ledger_view import LedgerView
    from scheduler.application.tell_tasks import Confirmation
    from scheduler.diagnostics import Fault
    from scheduler.ledger.store import Ledger


@contextmanager
def _kept(where: str | None, *, search: bool = True) -> Iterator[tuple[Ledger, LedgerView, int]]:
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at

        moment = int(now().timestamp())
        with opened(where) as ledger:
            yield ledger, view_at(ledger, moment, search=search), moment


@click.command(epilog="Example: afterpull log ridge-2.yaml, or: afterpull log --harvest ridge-3 --hive north --lot 'extracted 14 medium 17.9%'")
@click.argument("files", nargs=-1, metavar="[HARVEST]...", type=click.Path(path_type=Path))
@click.option("--harvest", metavar="NAME", help="Log without a file: the harvest's name; its file is written in this folder.")
@click.option("--pulled", metavar="T", help="When the supers came off. Default: now.")
@click.option("--hive", "hives", multiple=True, metavar="HIVE", help="A hive the supers came from; may be repeated.")
@click.option("--apiary", metavar="NAME", help="The apiary they came from, where the yard file names several and the hives do not say it.")
@click.option("--lot", "lots", multiple=True, metavar="'KIND FRAMES FRAME [MOISTURE]'", help="One lot, such as 'cut comb 5 shallow 17.4%'; may be repeated.")
@click.option("--withdraw", is_flag=True, help="These harvests, by their names, were not pulled at all: take them back.")
@ledger_option
def log(
    files: tuple[Path, ...],
    withdraw: bool,
    harvest: str | None,
    pulled: str | None,
    hives: tuple[str, ...],
    apiary: str | None,
    lots: tuple[str, ...],
    ledger: str | None,
) -> None:
    """Log a harvest from its file, or from words. The same name again takes the place of what was logged before."""
    with _kept(ledger) as (book, view, now):
        from scheduler.application import tell
        from scheduler.application.files import new_file, read_bytes
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault

        if withdraw:
            if not files or harvest or lots or hives or pulled or apiary:
                raise Fault("a harvest is withdrawn by its name alone", "afterpull log --withdraw ridge-2")
            click.echo("\n".join(tell.withdraw(book, [str(name) for name in files], now)))
            return
        if harvest:
            from scheduler.application.templates import harvest_text

            path = tell.path_of_new(harvest)
            content = harvest_text(harvest, moment_of(pulled, now, view.zone), view.zone, hives, lots, apiary, view.rules.products.known).encode()
            with new_file(path, content):
                names = tell.log(book, [(content, str(path))], now)
        elif files:
            names = tell.log(book, [(read_bytes(path), str(path)) for path in files], now)
        else:
            raise Fault("there is nothing to log", "the path of a harvest file, or --harvest NAME with --lot")
        click.echo(f"Logged {', '.join(names)}. What follows: afterpull agenda")
        for asked in tell.asked(book, names, now):
            click.echo(asked)


@click.command(epilog="Example: afterpull pulled ridge-2 --at 14:20, or: afterpull pulled ridge-2 --frames b=11 --lot 'extracted 3 medium 19%'")
@click.argument("harvest", required=False)
@click.option("--at", metavar="T", help="When the supers came off. Default: now.")
@click.option("--without-bees", metavar="DURATION", help="How long before that the bees left them, over an escape board: 24h.")
@click.option("--frames", multiple=True, metavar="LOT=N", help="So many frames of a lot came off, 0 for none; may be repeated.")
@click.option("--hive", "hives", multiple=True, metavar="HIVE", help="From these hives instead of those that were planned; may be repeated.")
@click.option("--lot", "lots", multiple=True, metavar="'KIND FRAMES FRAME [MOISTURE]'", help="A lot besides, such as unripe frames; may be repeated.")
@ledger_option
def pulled(
    harvest: str | None,
    at: str | None,
    without_bees: str | None,
    frames: tuple[str, ...],
    hives: tuple[str, ...],
    lots: tuple[str, ...],
    ledger: str | None,
) -> None:
    """Say that the supers of a planned harvest are off; its plan counts from then."""
    with _kept(ledger) as (book, view, now):
        from scheduler.application import tell
        from scheduler.application.lookup import moment_of

        differs = tell.Differs(frames, hives, lots, without_bees)
        click.echo("\n".join(tell.pulled(book, view, harvest, moment_of(at, now, view.zone), differs, now)))


def _recorded(book: Ledger, said: Sequence[Confirmation], refused: Sequence[Fault], now: int) -> None:
    """Write down what can be, say it, and then of what nothing was written, and why; exit status 2 where there is any such."""
    book.append([one.fact for one in said], now)
    for one in said:
        click.echo(one.words)
    if refused:
        from scheduler.diagnostics import Fault

        more = [f"{fault.message}\n    write {fault.write}" for fault in refused[:-1]]
        raise Fault("\n".join([*more, refused[-1].message]), refused[-1].write)


def _done_as_planned(book: Ledger, view: LedgerView, text: str, by: str | None, now: int, *, yes: bool) -> None:
    """Write down all that was planned up to a day, once the keeper agreed to the list; say what has to be told singly."""
    from scheduler.application.as_planned import as_planned, day_of
    from scheduler.diagnostics import Fault

    day = day_of(text, view)
    found = as_planned(view, day)
    if found.singly:
        click.echo(f"Record these one by one, for they protect food or give a reading: afterpull done {' '.join(found.singly)}")
    if not found.confirmations:
        raise Fault(f"nothing else that is still open was planned up to the end of {day}", "afterpull agenda, for what is planned")
    for one in found.confirmations:
        click.echo(f" - {one.words}")
    if agreed(f"this would mark {len(found.confirmations)} steps as done, each at its planned time", f"afterpull done --as-planned {text} --yes", yes=yes):
        book.append([one.fact.model_copy(update={"by": by}) for one in found.confirmations], now)
        click.echo(f"Marked {len(found.confirmations)} steps. If one of them was not so: afterpull undo TASK")


@click.command(epilog="Example: afterpull done a/cut.1 a/drain.1 --at 19:40")
@click.argument("tasks", metavar="TASK...", nargs=-1, type=TASK)
@click.option("--as-planned", "until", metavar="DATE", help="All that was planned up to the end of this day, or of yesterday, each at its planned time.")
@click.option("--at", metavar="T", help="When: 19:40, 'yesterday 19:40', 'Sun 14:00' or 2026-08-12T19:40. Default: now.")
@click.option("--amount", metavar="N", help="Only part is done: so many of its pieces (6), or so much work (40min). What is left is planned.")
@click.option("--hive", "hives", multiple=True, metavar="HIVE", help="Only at this hive, or a treatment only of this hive; may be repeated.")
@click.option("--with", "others", multiple=True, metavar="LOT", help="Its honey went into one vessel with this lot: one lot from now on; may be repeated.")
@click.option("--whole", is_flag=True, help="A task with a hold is over altogether, not just begun.")
@click.option("--again", is_flag=True, help="A hold that runs began at another time than was said: at this one.")
@click.option("--by", type=PERSON, metavar="NAME", help="Who did it, where several work in the yard.")
@click.option("--yes", is_flag=True, help="Do not ask where it is out of order.")
@ledger_option
def done(
    tasks: tuple[str, ...],
    until: str | None,
    at: str | None,
    amount: str | None,
    hives: tuple[str, ...],
    others: tuple[str, ...],
    whole: bool,
    again: bool,
    by: str | None,
    yes: bool,
    ledger: str | None,
) -> None:
    """Mark tasks as done, planned or not. Of a task that holds, the first time means that the hold has begun.

    TASK is the end of its id, or the code on its label.
    """
    with _kept(ledger, search=False) as (book, view, now):
        from scheduler.application import tell_tasks
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault

        if until is not None:
            if tasks or at or amount is not None or hives or whole or again:
                raise Fault("--as-planned is of every step, each at its planned time", f"afterpull done --as-planned {until}")
            _done_as_planned(book, view, until, by, now, yes=yes)
            return
        if not tasks:
            raise Fault("done: of what?", "afterpull done TASK, as afterpull agenda names it, or afterpull done --as-planned yesterday")
        if amount is not None and len(tasks) > 1:
            raise Fault("--amount is of one task", "afterpull done, once for each")
        moment = moment_of(at, now, view.zone)
        if others:
            from scheduler.application.lots_met import meet

            if len(tasks) > 1 or amount is not None or whole or again or hives:
                raise Fault("--with is of one task and nothing else", f"afterpull done b/settle --with {others[0]}")
            facts, words = meet(view, tasks[0], others, moment, by)
            book.append(facts, now)
            click.echo(words)
            return
        if hives:
            if len(tasks) > 1 or amount is not None or whole or again:
                raise Fault("--hive is of one task and nothing else", f"afterpull done {tasks[0]} --hive {hives[0]}")
            _recorded(book, tell_tasks.done_of_hives(view, tasks[0], hives, moment, by), [], now)
            return
        if again and (whole or amount is not None):
            raise Fault("--again is of the beginning", "--again alone, with --at")
        part, worked = tell_tasks.part_of(amount)
        said, refused = tell_tasks.done(view, tasks, moment, whole=whole, again=again, amount=part, worked=worked, by=by, sure=yes)
        doubts = [fault for fault in refused if isinstance(fault, tell_tasks.Doubt)]
        if doubts and at_terminal() and click.confirm("\n".join([*(fault.message for fault in doubts), "Was it so?"])):
            said, refused = tell_tasks.done(view, tasks, moment, whole=whole, again=again, amount=part, worked=worked, by=by, sure=True)
        _recorded(book, said, refused, now)


@click.command(epilog="Example: afterpull skip b/cappings --because 'no wax this year', or: afterpull skip b/spin --until 2026-08-14T18:00")
@click.argument("tasks", metavar="TASK...", nargs=-1, required=True, type=TASK)
@click.option("--because", metavar="WHY", help="They will not be done, and why.")
@click.option("--until", metavar="T", help="Not skipped, only put off: they are not to start before this time.")
@ledger_option
def skip(tasks: tuple[str, ...], because: str | None, until: str | None, ledger: str | None) -> None:
    """Say that tasks will not be done, or not before a time."""
    with _kept(ledger, search=False) as (book, view, now):
        from scheduler.application import tell_tasks
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault

        if (because is None) == (until is None):
            raise Fault("a task is skipped for a reason, or put off until a time", '--because "no wax this year", or --until 2026-08-14T18:00')
        if because is not None:
            said, refused = tell_tasks.skip(view, tasks, because, now)
        else:
            said, refused = tell_tasks.put_off(view, tasks, moment_of(until, now, view.zone, ahead=True))
        _recorded(book, said, refused, now)


@click.command(
    epilog="Example: afterpull observe first frost --on 2026-10-09, or: afterpull observe moisture 17.8 % --of ridge-2/a",
    context_settings={"ignore_unknown_options": True},
)
@click.argument("what", nargs=-1, required=True, metavar="WHAT...")
@click.option(
    "--of",
    metavar="THING",
    help="The lot, freezer or store a reading is of; the lot with live larvae; the hive with foulbrood or under treatment, or all; the apiary of a mark.",
)
@click.option("--cause", metavar="CAUSE", help="Why a colony died: observe died --of north --cause starved.")
@click.option("--with", "active", metavar="ACTIVE", help="The active ingredient of a treatment that begins: observe treatment begins --of all.")
@click.option("--product", metavar="NAME", help="The product of a treatment that begins, as its package names it; for the medicine record.")
@click.option("--batch", metavar="NUMBER", help="The batch of that product, as its package has it.")
@click.option("--on", metavar="DATE", help="The day on which a mark of the season was seen. Default: today.")
@click.option("--at", metavar="T", help="When a reading was taken. Default: now.")
@click.option(
    "--file",
    "file",
    type=click.Path(path_type=Path),
    help="A table (CSV) of a freezer, the store, a hive scale or the weather: observe series freezer|store|scale|weather.",
)
@table_options
@click.option("--picture", metavar="FILE.svg", type=click.Path(path_type=Path), help="Write a picture of what was read.")
@click.option("--replace", is_flag=True, help="This table takes the place of the last one of this instrument, or of the same file.")
@ledger_option
def observe(
    what: tuple[str, ...],
    of: str | None,
    cause: str | None,
    active: str | None,
    product: str | None,
    batch: str | None,
    on: str | None,
    at: str | None,
    file: Path | None,
    columns: tuple[str, ...],
    unit: str | None,
    times: tuple[str, ...],
    zone: str | None,
    dates: str | None,
    replace: bool,
    picture: Path | None,
    ledger: str | None,
) -> None:
    """Record what was seen: a season date, a reading with its value, or a table from an instrument."""
    with _kept(ledger) as (book, view, now):
        from datetime import date, datetime

        from scheduler.application import tell
        from scheduler.application.hive_facts import Medicine
        from scheduler.application.lookup import moment_of
        from scheduler.diagnostics import Fault
        from scheduler.local_time import in_years

        if file is not None:
            from scheduler.application.files import LARGEST_TABLE, read_bytes
            from scheduler.application.observe import Saying, record_series

            said = Saying(columns, times, unit, zone, dates, replace, picture)
            click.echo(record_series(book, view, what, of, read_bytes(file, LARGEST_TABLE), str(file), now, said))
            return
        try:
            day = date.fromisoformat(on) if on is not None else datetime.fromtimestamp(now, view.zone).date()
        except ValueError:
            raise Fault(f'"{on}" is not a date', "2026-10-09") from None
        medicine = Medicine(active, product, batch)
        click.echo(tell.observe(book, view, what, of, in_years(day, day), moment_of(at, now, view.zone), now, medicine, cause).words)


@click.command(epilog="Example: afterpull release ridge-2/a --because 'the label allows supers, and so does local law'")
@click.argument("lot")
@click.option("--because", required=True, metavar="WHY", help="What the label, local law, the inspector or a new reading says.")
@ledger_option
def release(lot: str, because: str, ledger: str | None) -> None:
    """Let a lot go on that a stop holds back. Local law and the product label come first. To take it back: afterpull undo."""
    with _kept(ledger) as (book, view, now):
        from scheduler.application import tell

        click.echo(tell.release(book, view, lot, because, now).words)


@click.command(epilog="Example: afterpull undo, or: afterpull undo a/drain")
@click.argument("task", required=False, type=TASK)
@click.option("--yes", is_flag=True, help="Do not ask where a whole harvest, or the yard, would be taken back.")
@ledger_option
def undo(task: str | None, yes: bool, ledger: str | None) -> None:
    """Take back the last thing that was told, or the last that was told of a task. Again, the one before it."""
    with refusals():
        from scheduler.application import tell
        from scheduler.application.clock import now

        moment = int(now().timestamp())
        with opened(ledger) as book:
            last = tell.last_told(book, moment, task)
            if last is None:
                click.echo("There is nothing to take back.")
            elif not last.whole or agreed(f"this would take back {last.words}, and with it all that is planned from it", "afterpull undo --yes", yes=yes):
                tell.take_back(book, [last.fact], moment)
                click.echo(f"Taken back: {last.words}")
