"""`afterpull watch` and `afterpull alert`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.channels_option import CHANNELS, config_from
from scheduler.cli.ledger_option import ledger_option, opened

if TYPE_CHECKING:
    from scheduler.ledger.alerts import StoredAlert
    from scheduler.outputs.notify.config import NotificationConfig

NEXT = 5  # alerts that --status shows


def _environment(context: click.Context, parameter: click.Parameter, path: Path | None) -> None:
    """Take over what the file of an installed service says: addresses, which stand neither in the service's own file nor in the list of processes."""
    from scheduler.cli.errors import refusals

    if path is None:
        return
    with refusals():
        from scheduler.application.files import read_bytes

        for line in read_bytes(path).decode().splitlines():
            name, _, value = line.partition("=")
            os.environ[name] = value


@click.command(epilog="Example: afterpull watch --status")
@click.option("--once", is_flag=True, help="Tell what is due now, and end.")
@click.option("--status", is_flag=True, help="Show when the watch last looked, what it sends next, and what was not sent and why.")
@click.option("--install", is_flag=True, help="Start the watch at every login, after showing how.")
@click.option("--uninstall", is_flag=True, help="Start it no longer.")
@click.option("--yes", is_flag=True, help="With --install or --uninstall: do not ask.")
@click.option("--environment", type=click.Path(path_type=Path), hidden=True, is_eager=True, expose_value=False, callback=_environment)
@CHANNELS
@ledger_option
def watch(once: bool, status: bool, install: bool, uninstall: bool, yes: bool, channels: Path | None, ledger: str | None) -> None:
    """Send what is due, as long as it runs: to the desktop, and through the channels of your choice."""
    from scheduler.cli.errors import refusals

    if sum((once, status, install, uninstall)) > 1:
        raise click.UsageError("--once, --status, --install and --uninstall exclude one another")
    with refusals():
        if status:
            _status(ledger)
        elif install or uninstall:
            from scheduler.cli.watch_service import install_service, uninstall_service

            install_service(channels, ledger, yes) if install else uninstall_service(yes)
        else:
            _watch(once, config_from(channels), ledger)


def _watch(once: bool, config: NotificationConfig, where: str | None) -> None:
    from scheduler import daemon
    from scheduler.ledger.location import default_path

    with opened(where) as ledger:  # one that is missing or foreign is refused here, once
        place = ledger.place
    watching = daemon.Watch(default_path(where), config, say=click.echo)
    if not once:
        click.echo(f"watching {Path(place).name}; Ctrl-C ends it")
        daemon.run(watching)
        return
    try:
        looked = watching.look()
    finally:
        watching.stop()
    if looked is not None and looked.other is None:
        click.echo(f"{looked.sent} sent, {looked.held} held back, {looked.failed} not sent")
    if looked is None or looked.failed or looked.trouble:
        raise SystemExit(1)


def _status(where: str | None) -> None:
    from scheduler.application.clock import now
    from scheduler.application.watch import WATCH

    with opened(where) as ledger:
        seen, rows, at = ledger.outgoing.last_seen(WATCH), ledger.alerts.all(), int(now().timestamp())
    click.echo("\n".join(status_lines(seen[0] if seen else None, rows, at)))


def status_lines(looked_at: int | None, rows: tuple[StoredAlert, ...], now: int) -> list[str]:
    """What --status prints: last look, what comes next, what was not told and why."""
    from scheduler.quantities import show_duration

    if looked_at is None:
        lines = ["no watch has looked at this ledger yet: afterpull watch"]
    elif looked_at > now:
        lines = ["last looked while the clock was ahead, or none since it was set back"]
    else:
        lines = [f"last looked {show_duration(now - looked_at)} ago"]
    waiting = sorted((row for row in rows if row.next_attempt_at is not None), key=lambda row: (row.next_attempt_at or 0, row.id))
    for row in waiting[:NEXT]:
        left = (row.next_attempt_at or 0) - now
        when = f"in {show_duration(left)}" if left > 0 else f"due {show_duration(-left)} ago"
        again = ", again" if row.told_at is not None else ""
        lines.append(f"next: {when}{again}: {row.say}")
    if not waiting:
        lines.append("nothing is waiting to be sent")
    reasons: dict[str, list[str]] = {}
    for row in waiting:
        if row.failure:
            reasons.setdefault(row.failure, []).append(row.say)
    for why, said in reasons.items():
        more = f", and {len(said) - 1} more" if len(said) > 1 else ""
        lines.append(f"not sent: {said[0]}{more}\n    because {why}")
    return lines


@click.group(epilog="Example: afterpull alert test")
def alert() -> None:
    """Try the channels that carry alerts."""


@alert.command(epilog="Example: afterpull alert test --channels channels.yaml")
@CHANNELS
def test(channels: Path | None) -> None:
    """Send one message through each channel, and say what arrived. Exit status 1 where nothing did."""
    from scheduler.cli.errors import refusals

    with refusals():
        from scheduler.daemon import channels_of
        from scheduler.outputs.notify.message import Message, deliver

        made = channels_of(config_from(channels), lambda *_: None)
        message = Message("test", "This is a test: nothing is to be done", "If you can read this, alerts reach you here.")
        arrived = 0
        for name, channel in made.items():
            outcome = deliver([channel], message)
            arrived += outcome.channel is not None and name != "terminal"
            click.echo(f"{name}: {'taken' if outcome.channel else 'not sent: ' + outcome.reason.removeprefix(f'{name}: ')}")
    if not arrived:
        raise SystemExit(1)
