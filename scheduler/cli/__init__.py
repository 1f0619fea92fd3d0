"""The command line. Commands are imported when they are called, so that --help is quick."""

from __future__ import annotations

import importlib
import os
from typing import Any

import click

from scheduler import __version__
from scheduler.cli.terminal import Help

FAULT = 3  # exit status where the program itself is wrong
COMMANDS = {  # name: (module, one line)
    "plan": ("scheduler.cli.plan_command", "Plan what follows a harvest, from files; needs no ledger."),
    "init": ("scheduler.cli.init_command", "Write a yard file that fits the place, and set it in the ledger."),
    "log": ("scheduler.cli.log_commands", "Log a harvest, from its file or from words."),
    "agenda": ("scheduler.cli.agenda_commands", "What to do now, what is holding, what comes next; what moved."),
    "pull": ("scheduler.cli.pull_command", "Before a pull: on which day how many frames can be worked up in time."),
    "pulled": ("scheduler.cli.log_commands", "Say that the supers of a planned harvest are off."),
    "done": ("scheduler.cli.log_commands", "Mark a task as done, or its hold as begun."),
    "want": ("scheduler.cli.want_command", "Packages or jars of a lot, wanted by a time."),
    "skip": ("scheduler.cli.log_commands", "Say that a task will not be done, or not before a time."),
    "observe": ("scheduler.cli.log_commands", "Record a season date, a reading, or a table from an instrument."),
    "release": ("scheduler.cli.log_commands", "Let a stopped lot go on, and why."),
    "undo": ("scheduler.cli.log_commands", "Take back what was recorded last."),
    "why": ("scheduler.cli.agenda_commands", "Why a task is when it is: rule, numbers, sources."),
    "record": ("scheduler.cli.agenda_commands", "The record of a lot as one sheet: from which hives, what became of it, where it went."),
    "season": ("scheduler.cli.agenda_commands", "The marks of the season and what they rest on."),
    "freezer": ("scheduler.cli.agenda_commands", "What a freezer's own log and readings show."),
    "ledger": ("scheduler.cli.ledger_commands", "Export, import, check or back up the ledger."),
    "calendar": ("scheduler.cli.calendar_command", "Write the plan as a calendar file; check any calendar file."),
    "serve": ("scheduler.cli.serve_command", "Serve the plan as calendar feeds, each person under a secret address."),
    "watch": ("scheduler.cli.watch_command", "Send what is due, to the desktop and elsewhere; or show what comes next."),
    "alert": ("scheduler.cli.watch_command", "Try the channels that carry alerts."),
    "sync": ("scheduler.cli.sync_command", "Sync to-dos and events with a CalDAV server, both ways."),
    "alarms": ("scheduler.cli.alarms_command", "Which calendars ring, when each was last used, and whether the watch runs."),
    "rules": ("scheduler.cli.rules_commands", "Check, test, list and show rule files."),
    "estimate": ("scheduler.cli.estimate_commands", "Ask one estimate by itself: freezing, thawing, draining, moisture, dusk and more."),
}

CALLED_NOW = {"doctor": "alarms"}  # a command that got another name is read under the old one for one more version


click.Context.formatter_class = Help


class Commands(click.Group):
    """The commands by name, with the line that --help shows, loaded only when one is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order that --help shows."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of that name, or of the one it has now, imported now; None where there is none."""
        if name in CALLED_NOW:
            click.echo(f'"{name}" is called "{CALLED_NOW[name]}" now; the next version no longer reads the old word', err=True)
            name = CALLED_NOW[name]
        if name not in COMMANDS:
            return None
        command: click.Command = getattr(importlib.import_module(COMMANDS[name][0]), name)
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; a fault of the program itself is told in a line too, and AFTERPULL_TRACE=1 shows where it is."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as fault:
            if os.environ.get("AFTERPULL_TRACE"):
                raise
            click.echo(f"a fault of the program itself, not of what you wrote: {type(fault).__name__}: {fault}", err=True)
            click.echo("    nothing more was written; AFTERPULL_TRACE=1 before the command shows where it is", err=True)
            ctx.exit(FAULT)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The names with their lines, without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Example: afterpull plan ridge-2.yaml --calendar ridge-2.ics",
)
@click.version_option(__version__, prog_name="afterpull")
def main() -> None:
    """Timed work after the honey supers come off: what to do, when, and why.

    Local codes, product labels and licensed practice come first.
    """
