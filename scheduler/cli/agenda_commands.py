"""`afterpull agenda|why|season|freezer`: what the plan and the records say."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.cli.completion import PERSON, PLACE, TASK
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened
from scheduler.cli.terminal import text_width

GLANCE = 40  # futures, where nobody asked how likely it is; assumed


@click.command(epilog="Example: afterpull agenda --at apiary")
@click.option("--all", "everything", is_flag=True, help="Show what comes later too.")
@click.option("--for", "person", type=PERSON, metavar="NAME", help="Only the work of this person of the yard file, or of the keeper.")
@click.option(
    "--at", "place", type=PLACE, metavar="PLACE", help="Only the work at this place: honey room, apiary (every one), one by its name, store or anywhere."
)
@click.option("--odds", "likely", is_flag=True, help="Add how likely each limit is kept, over futures in which evenings are missed and work takes longer.")
@ledger_option
def agenda(everything: bool, person: str | None, place: str | None, likely: bool, ledger: str | None) -> None:
    """What to do now, what is holding and until when, what comes next; and what moved since you last looked."""
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.early_ticks import early_ticks
        from scheduler.application.ledger_view import keep_in_force, view_at
        from scheduler.application.selection import PlanFilter
        from scheduler.outputs.text.agenda import agenda as shown
        from scheduler.outputs.text.moves import changes, snapshot

        moment = int(now().timestamp())
        with opened(ledger) as book:
            view = view_at(book, moment)
            part = PlanFilter(person, place, view.yard.people, view.yard.apiaries)
            plan = part.of(view.plan_with_cures)
            before = book.outgoing.last_seen(part.reader)
            moved, overdue = changes(before[1], plan, view.rules.renamed) if before else ((), ())
            if before is None or before[1] != snapshot(plan):
                book.outgoing.see(part.reader, moment, snapshot(plan))
            keep_in_force(book, view)
            plan = plan._replace(warnings=(*early_ticks(book, plan, moment), *plan.warnings))
        unplanned = () if part.words else view.unplanned
        click.echo(shown(plan, moment, moved, overdue, unplanned=unplanned, part=part.words, everything=everything, width=text_width()), nl=False)
        if likely or not part.words:
            from scheduler.outputs.text.odds_text import doubtful_lines, odds_text

            if likely:
                odds = view.odds(help=True)
                click.echo("\n" + odds_text(plan, odds, view.problem.yard.evenings_missed, text_width(), counted=view.evenings_missed is not None), nl=False)
            else:
                odds = view.odds(GLANCE, causes=False)
                click.echo(doubtful_lines(plan, odds, text_width()), nl=False)


@click.command(epilog="Example: afterpull why a/freeze")
@click.argument("task", type=TASK)
@ledger_option
def why(task: str, ledger: str | None) -> None:
    """Why a task is when it is: the rule, the numbers, the sources."""
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at
        from scheduler.application.lookup import named
        from scheduler.outputs.text.why import why_text

        with opened(ledger) as book:
            view = view_at(book, int(now().timestamp()))
            text = why_text(view.plan_with_cures, named(view.plan_with_cures, task, view.problem.rules).id, width=text_width())
        click.echo(text, nl=False)


@click.command(epilog="Example: afterpull record ridge-2/a")
@click.argument("lot")
@ledger_option
def record(lot: str, ledger: str | None) -> None:
    """The record of a lot as one sheet to print: hives, medicine, readings, freezer, what was done and when it was written down, who wanted it."""
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import whole_view
        from scheduler.application.lot_record import record_of, waits_of
        from scheduler.outputs.text.lot_sheet import LotSheet

        moment = int(now().timestamp())
        with opened(ledger) as book:
            view = whole_view(book, moment)
            sheet = LotSheet(view.yard.yard, view.zone, view.yard.units, text_width())
            click.echo(sheet.text(record_of(view, lot), moment, waits_of(view)), nl=False)


@click.command(epilog="Example: afterpull season")
@click.option("--of", "apiary", metavar="APIARY", help="Of one apiary, where the yard file names several.")
@click.option(
    "--picture", metavar="FILE.svg", type=click.Path(path_type=Path), help="Write the last year of hive scale and weather, and the degree days, as a picture."
)
@click.option("--normals", is_flag=True, help="Print the usual temperatures of the months for the yard file, from your own weather tables where they reach.")
@ledger_option
def season(apiary: str | None, picture: Path | None, normals: bool, ledger: str | None) -> None:
    """The marks of the season: the next day of each, the evidence, and what would change it."""
    with refusals():
        from datetime import datetime
        from zoneinfo import ZoneInfo

        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at
        from scheduler.application.yard_check import known_apiary
        from scheduler.outputs.text.season_text import season_text

        moment = int(now().timestamp())
        with opened(ledger) as book:
            view = view_at(book, moment)
            today = datetime.fromtimestamp(moment, ZoneInfo(view.yard.place.timezone)).date()
            seen = view.seen_at(known_apiary(apiary, view.yard.apiaries) if apiary is not None else None)
            if normals:
                from scheduler.estimates.usual_weather import of_own_years
                from scheduler.outputs.text.normals_text import normals_text

                click.echo(normals_text(of_own_years(seen.weather) if seen.weather else {}, seen.yard.place.latitude, view.yard.units), nl=False)
                return
            text = season_text(seen.season, today, seen.evidence, text_width(), apiary, () if apiary else tuple(view.yard.apiaries))
            if picture is not None:
                from scheduler.application.files import write_bytes
                from scheduler.application.instrument_pictures import season_shown
                from scheduler.diagnostics import Fault
                from scheduler.outputs.pictures.series import sheet

                if not (shown := season_shown(seen, view.yard.units)):
                    raise Fault("no table of a hive scale or of the weather is recorded", "afterpull observe series scale --file SCALE.csv")
                write_bytes(picture, sheet(shown))
                text += f"A picture is in {picture}.\n"
        click.echo(text, nl=False)


@click.command(epilog="Example: afterpull freezer")
@click.argument("name", required=False)
@click.option("--use", is_flag=True, help="Plan with the low end of what was fitted from now on.")
@click.option("--picture", metavar="FILE.svg", type=click.Path(path_type=Path), help="Write its record as a picture: air, core of each load, hold and kill.")
@ledger_option
def freezer(name: str | None, use: bool, picture: Path | None, ledger: str | None) -> None:
    """What the logs and readings of a freezer show: its surface coefficient, how it recovers from a warm load."""
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at
        from scheduler.application.own_freezer import agree, freezer_of, report

        moment = int(now().timestamp())
        with opened(ledger) as book:
            view = view_at(book, moment)
            found, units = freezer_of(view, name), view.yard.units
            click.echo(report(found, units))
            if picture is not None:
                from scheduler.application.files import write_bytes
                from scheduler.application.instrument_pictures import freezer_shown
                from scheduler.outputs.pictures.series import sheet

                write_bytes(picture, sheet([freezer_shown(view, found.name)]))
                click.echo(f"A picture is in {picture}.")
            if use:
                click.echo(f"Planned with {agree(book, found, moment, units)} from now on. To take it back: afterpull undo")
