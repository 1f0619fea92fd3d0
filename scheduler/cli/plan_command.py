"""`afterpull plan`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.planning.odds import Odds
    from scheduler.planning.plan import Plan
    from scheduler.planning.problem import Problem


@click.command(epilog="Example: afterpull plan ridge-2.yaml --yard yard.yaml --as-of 2026-08-11T10:30 --calendar ridge-2.ics")
@click.argument("harvests", metavar="HARVEST...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--yard", type=click.Path(path_type=Path), help="The yard file. Default: yard.yaml beside the harvest.")
@click.option("--rules", multiple=True, metavar="R", help="An overlay by name or a rule file of your own; may be repeated.")
@click.option("--as-of", metavar="T", help="Plan as at this time (local at the yard). Default: now.")
@click.option("--calendar", type=click.Path(path_type=Path), metavar="OUT.ics", help="Write the plan as an iCalendar file too.")
@click.option("--all", "everything", is_flag=True, help="In the calendar, everything: also what lies more than three weeks ahead.")
@click.option("--picture", type=click.Path(path_type=Path), metavar="OUT.svg", help="Write the weeks ahead as a picture too.")
@click.option("--odds", "likely", is_flag=True, help="How likely each limit is kept, over futures in which evenings are missed and work takes longer.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the table.")
@click.option("--why", metavar="TASK", help="Print why one task is when it is; the end of its id is enough.")
@click.option("--compare", metavar="OTHER", help="Say what would change with another yard file, rule file or overlay.")
@click.option("--strict", is_flag=True, help="Exit with 1 when a limit is breached.")
def plan(
    harvests: tuple[Path, ...],
    yard: Path | None,
    rules: tuple[str, ...],
    as_of: str | None,
    calendar: Path | None,
    everything: bool,
    picture: Path | None,
    likely: bool,
    as_json: bool,
    why: str | None,
    compare: str | None,
    strict: bool,
) -> None:
    """Plan what has to be done after a harvest, from files alone."""
    from scheduler.cli.errors import refusals

    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.plan_files import problem_of
        from scheduler.cli.terminal import coloured, text_width
        from scheduler.planning.plan import QUESTIONS
        from scheduler.planning.planner import plan as planned
        from scheduler.planning.planner import plan_with_odds

        moment = as_of or now()
        problem = problem_of(harvests, yard, rules, moment)
        found, odds = plan_with_odds(problem, help=True) if likely else (planned(problem), None)
        text = _compared(found, problem, harvests, yard, rules, compare) if compare else _shown(found, problem, rules, as_json, why, odds)
        if odds is not None and not (as_json or compare or why):
            from scheduler.outputs.text.odds_text import odds_text

            text = str(text) + "\n" + odds_text(found, odds, problem.yard.evenings_missed, text_width(), coloured())
        if calendar:
            _write(found, calendar, everything)
        if picture:
            from scheduler.application.behind_picture import behind
            from scheduler.application.files import write_bytes
            from scheduler.outputs.pictures.season import season_file

            write_bytes(picture, season_file(found, behind(problem.yard, problem.season, problem.as_of)))
        click.echo(text, nl=False)
    if strict and any(warning.kind not in QUESTIONS for warning in found.warnings):
        raise SystemExit(1)


def _shown(found: Plan, problem: Problem, named_rules: Sequence[str], as_json: bool, why: str | None, odds: Sequence[Odds] | None) -> str | bytes:
    if as_json:
        from scheduler.application.packs import made_by
        from scheduler.application.plan_files import where_typed
        from scheduler.outputs.plan_json import plan_bytes

        beside = Path(problem.yard.document.path).parent
        return plan_bytes(found, odds, made_by([*problem.yard.rules, *where_typed(named_rules)], beside))
    from scheduler.cli.terminal import coloured, text_width
    from scheduler.outputs.text.table import plan_text
    from scheduler.outputs.text.why import why_text

    if why:
        from scheduler.application.lookup import named

        return why_text(found, named(found, why, problem.rules).id, width=text_width(), colour=coloured())
    return plan_text(found, width=text_width(), colour=coloured())


def _compared(found: Plan, problem: Problem, harvests: tuple[Path, ...], yard: Path | None, rules: tuple[str, ...], other: str) -> str:
    """What would change. Both plans follow the one found, for what a second search betters is not what the other file does."""
    from datetime import UTC, datetime

    from scheduler.application.plan_files import is_yard, problem_of
    from scheduler.outputs.text.comparison import comparison
    from scheduler.planning.incumbent import in_force
    from scheduler.planning.planner import plan

    other_yard = is_yard(other)
    as_of = datetime.fromtimestamp(problem.as_of, UTC)
    changed = problem_of(harvests, Path(other) if other_yard else yard, rules if other_yard else (*rules, other), as_of)
    before, after = (plan(one._replace(in_force=in_force(found)._replace(changed=True))) for one in (problem, changed))
    return comparison(before, after)


def _write(found: Plan, path: Path, everything: bool) -> None:
    from datetime import UTC, datetime

    from scheduler.application.files import write_bytes
    from scheduler.outputs.calendar.vcalendar import calendar

    write_bytes(path, calendar(found, name=found.yard, stamp=datetime.fromtimestamp(found.as_of, UTC), everything=everything))
