"""`afterpull watch` and `afterpull alert`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.asking import agreed
from scheduler.cli.ledger_option import ledger_option, opened

if TYPE_CHECKING:
    from scheduler.ledger.alerts import StoredAlert
    from scheduler.outputs.notify.config import NotificationConfig
    from scheduler.outputs.notify.service_unit import UserService


_WHO = "Who is told what, and how; without it, channels.yaml in your settings folder."
CHANNELS = click.option("--channels", type=click.Path(path_type=Path), metavar="FILE", help=_WHO)
NEXT = 5  # alerts that --status shows


@click.command(epilog="Example: afterpull watch --status")
@click.option("--once", is_flag=True, help="Tell what is due now, and end.")
@click.option("--status", is_flag=True, help="Say when the watch last looked, what it tells next, and what was not told and why.")
@click.option("--install", is_flag=True, help="Start the watch at every login, after showing how.")
@click.option("--uninstall", is_flag=True, help="Start it no longer.")
@click.option("--yes", is_flag=True, help="With --install or --uninstall: do not ask.")
@CHANNELS
@ledger_option
def watch(once: bool, status: bool, install: bool, uninstall: bool, yes: bool, channels: Path | None, ledger: str | None) -> None:
    """Tell what is due, as long as it runs: on the desktop, and through the channels of your choice."""
    from scheduler.cli.errors import refusals

    if sum((once, status, install, uninstall)) > 1:
        raise click.UsageError("--once, --status, --install and --uninstall exclude one another")
    with refusals():
        if status:
            _status(ledger)
        elif install or uninstall:
            _service(install, yes, channels, ledger)
        else:
            _watch(once, config_from(channels), ledger)


def config_from(path: Path | None) -> NotificationConfig:
    """The keeper's file, where it was named or lies in the settings folder; else as it is without one. Raises `Refused`."""
    from scheduler.application.files import read_bytes
    from scheduler.outputs.notify.config import NotificationConfig, read_config

    if path is None:
        import platformdirs

        try:
            path = platformdirs.user_config_path("afterpull", appauthor=False).expanduser() / "channels.yaml"
        except RuntimeError:  # nobody knows where the home folder is
            return NotificationConfig()
        if not path.exists():
            return NotificationConfig()
    config = read_config(read_bytes(path), str(path))
    for old in config.old_words:
        click.echo(old, err=True)
    return config


def _watch(once: bool, config: NotificationConfig, where: str | None) -> None:
    from scheduler import daemon
    from scheduler.ledger.location import default_path

    with opened(where):
        pass  # a ledger that is missing or foreign is refused here, once
    watching = daemon.Watch(default_path(where), config, say=click.echo)
    if not once:
        click.echo(f"watching {Path(default_path(where)).name}; Ctrl-C ends it")
        daemon.run(watching)
        return
    try:
        looked = watching.look()
    finally:
        watching.stop()
    if looked is not None and looked.other is None:
        click.echo(f"{looked.sent} told, {looked.held} held back, {looked.failed} not told")
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
        lines.append("nothing is waiting to be told")
    reasons: dict[str, list[str]] = {}
    for row in waiting:
        if row.failure:
            reasons.setdefault(row.failure, []).append(row.say)
    for why, said in reasons.items():
        more = f", and {len(said) - 1} more" if len(said) > 1 else ""
        lines.append(f"not told: {said[0]}{more}\n    because {why}")
    return lines


def _service(install: bool, yes: bool, channels: Path | None, where: str | None) -> None:
    from scheduler.diagnostics import Fault
    from scheduler.ledger.location import default_path
    from scheduler.outputs.notify.service_unit import user_service

    place = default_path(where)
    options = ["--ledger", place if "://" in place else str(Path(place).expanduser().absolute())]
    options += ["--channels", str(channels.absolute())] if channels else []
    try:
        home = Path.home()
    except RuntimeError:
        raise Fault("nobody knows where your home folder is, which the service lies in: HOME is not set", "HOME=FOLDER before the command") from None
    service = user_service(sys.platform, home, [sys.executable, "-m", "scheduler", "watch", *options])
    _install(service, yes) if install else _uninstall(service, yes)


def _install(service: UserService, yes: bool) -> None:
    from scheduler.application.files import write_bytes

    encoding = "utf-16" if service.content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"
    click.echo(f"{service.path}:\n\n{service.content.decode(encoding)}\nthen: {_shown(service.start)}")
    if not agreed("this would write the file above and start the watch", "afterpull watch --install --yes", yes=yes):
        return
    service.path.parent.mkdir(parents=True, exist_ok=True)
    write_bytes(service.path, service.content)
    _run(service.start)


def _uninstall(service: UserService, yes: bool) -> None:
    if not service.path.exists():
        click.echo(f"there is nothing to remove: {service.path} does not exist")
        return
    click.echo(f"{_shown(service.stop)}\nthen remove {service.path}")
    if not agreed("this would stop the watch and remove the file", "afterpull watch --uninstall --yes", yes=yes):
        return
    _run(service.stop)
    service.path.unlink(missing_ok=True)


def _shown(commands: tuple[tuple[str, ...], ...]) -> str:
    from shlex import join

    return "; ".join(join(command) for command in commands)


def _run(commands: tuple[tuple[str, ...], ...]) -> None:
    """Run commands of the system; one that fails is shown for the keeper to run, with what it said."""
    import subprocess

    for command in commands:
        try:
            ran = subprocess.run(command, capture_output=True, text=True, check=False, timeout=30)
            said = None if ran.returncode == 0 else (ran.stderr or ran.stdout).strip() or f"exit {ran.returncode}"
        except (OSError, subprocess.TimeoutExpired) as error:
            said = str(error)
        if said is not None:
            click.echo(f"{_shown((command,))}\n    failed: {said}", err=True)


@click.group(epilog="Example: afterpull alert test")
def alert() -> None:
    """Try the channels through which alerts are told."""


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
            click.echo(f"{name}: {'taken' if outcome.channel else 'not told: ' + outcome.reason.removeprefix(f'{name}: ')}")
    if not arrived:
        raise SystemExit(1)
