"""`afterpull plan`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(epilog="Example: afterpull plan ridge-2.yaml --yard yard.yaml --as-of 2026-08-11T10:30 --calendar ridge-2.ics")
@click.argument("harvests", metavar="HARVEST...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--yard", type=click.Path(path_type=Path), help="The yard file; without it, yard.yaml beside the harvest.")
@click.option("--rules", multiple=True, metavar="R", help="An overlay by name or a rule file of your own; may be repeated.")
@click.option("--as-of", metavar="T", help="Plan as at this time (local at the yard); without it, now.")
@click.option("--calendar", type=click.Path(path_type=Path), metavar="OUT.ics", help="Write the plan as an iCalendar file too.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of the table.")
@click.option("--why", metavar="TASK", help="Print why one task is when it is.")
@click.option("--strict", is_flag=True, help="Exit with 1 when a limit is breached.")
def plan(harvests: tuple[Path, ...], yard: Path | None, rules: tuple[str, ...], as_of: str | None, calendar: Path | None, as_json: bool, why: str | None, strict: bool) -> None:
    """Plan what has to be done after a harvest, from files alone."""
    from scheduler.cli.errors import refusals

    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.planned import problem_of
        from scheduler.planning.planner import plan as planned

        found = planned(problem_of(harvests, yard, rules, as_of or now()))
        if calendar:
            from scheduler.application.files import write_bytes
            from scheduler.outputs.vcalendar import calendar as written

            write_bytes(calendar, written(found))
        click.echo(_shown(found, as_json, why))
    if strict and found.warnings:
        raise SystemExit(1)


def _shown(found: object, as_json: bool, why: str | None) -> str:
    from scheduler.outputs import table

    if as_json:
        import json

        from scheduler.outputs.plan_json import plan_json

        return json.dumps(plan_json(found), ensure_ascii=False, indent=1)  # type: ignore[arg-type]
    if why:
        return table.why(found, why)  # type: ignore[arg-type]
    return table.plan_text(found)  # type: ignore[arg-type]
