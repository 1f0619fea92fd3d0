"""`afterpull watch --install` and `--uninstall`: the watch as a service of the person who is logged in."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.asking import agreed
from scheduler.cli.channels_option import config_from, usual_channels
from scheduler.cli.ledger_option import opened
from scheduler.diagnostics import Fault

if TYPE_CHECKING:
    from scheduler.outputs.notify.config import NotificationConfig
    from scheduler.outputs.notify.service_unit import UserService


def install_service(channels: Path | None, where: str | None, yes: bool) -> None:
    """
    Write the service's file and start it, once the keeper has seen it.

    What it would stumble over at every start is refused first. Addresses, which hold passwords, go to a file of their own; neither is for others to read.
    """
    from scheduler.application.files import write_bytes
    from scheduler.daemon import channels_of
    from scheduler.ledger.location import default_path

    config = config_from(channels)
    channels_of(config, lambda *_: None)
    with opened(where):
        pass
    channels, place = channels or usual_channels(), default_path(where)
    environment = _environment(config, place)
    options = [] if "://" in place else ["--ledger", str(Path(place).expanduser().absolute())]
    options += ["--channels", str(channels.absolute())] if channels else []
    options += ["--environment", str(_environment_file())] if environment else []
    service = _service([*_program(), "watch", *options])
    encoding = "utf-16" if service.content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"
    beside = f"and {_environment_file()}, which only you can read: {', '.join(environment)}\n" if environment else ""
    click.echo(f"{service.path}:\n\n{service.content.decode(encoding)}\n{beside}then: {_shown(service.start)}")
    if not agreed("this would write the file above and start the watch", "afterpull watch --install --yes", yes=yes):
        return
    if environment:
        _environment_file().parent.mkdir(parents=True, exist_ok=True)
        write_bytes(_environment_file(), "".join(f"{name}={value}\n" for name, value in environment.items()).encode(), private=True)
    service.path.parent.mkdir(parents=True, exist_ok=True)
    write_bytes(service.path, service.content, private=True)
    _run(service.start)


def uninstall_service(yes: bool) -> None:
    """Stop the watch and remove its files."""
    service = _service([])
    if not service.path.exists():
        click.echo(f"there is nothing to remove: {service.path} does not exist")
        return
    click.echo(f"{_shown(service.stop)}\nthen remove {service.path}")
    if not agreed("this would stop the watch and remove the file", "afterpull watch --uninstall --yes", yes=yes):
        return
    try:
        _run(service.stop)
    finally:
        service.path.unlink(missing_ok=True)
        _environment_file().unlink(missing_ok=True)


def _environment(config: NotificationConfig, place: str) -> dict[str, str]:
    """The variables that the service needs: the address of a ledger on a server, and those that the channels take their addresses from."""
    names = [one.address_from for one in config.channels.values() if one.address_from]
    found = ({"AFTERPULL_LEDGER": place} if "://" in place else {}) | {name: os.environ[name] for name in names}
    for name, value in found.items():
        if not value.isprintable():
            raise Fault(f"{name} holds more than one line", "an address on one line")
    return found


def _environment_file() -> Path:
    import platformdirs

    return platformdirs.user_config_path("afterpull", appauthor=False) / "watch.env"


def _program() -> list[str]:
    """This program by its full path."""
    installed = Path(sys.executable).with_name("afterpull.exe" if sys.platform == "win32" else "afterpull")
    return [str(installed)] if installed.exists() else [sys.executable, "-m", "scheduler"]


def _service(command: list[str]) -> UserService:
    import platformdirs

    from scheduler.outputs.notify.service_unit import user_service

    try:
        return user_service(sys.platform, Path.home(), platformdirs.user_config_path().expanduser(), command)
    except RuntimeError:
        raise Fault("nobody knows where your home folder is, which the service lies in: HOME is not set", "HOME=FOLDER before the command") from None


def _shown(commands: tuple[tuple[str, ...], ...]) -> str:
    from shlex import join

    return "; ".join(join(command) for command in commands)


def _run(commands: tuple[tuple[str, ...], ...]) -> None:
    """Run commands of the system; what failed is shown for the keeper to run, with what it said, and ends this command with exit status 1."""
    import subprocess

    failed = False
    for command in commands:
        try:
            ran = subprocess.run(command, capture_output=True, text=True, check=False, timeout=30)
            said = None if ran.returncode == 0 else (ran.stderr or ran.stdout).strip() or f"exit {ran.returncode}"
        except (OSError, subprocess.TimeoutExpired) as error:
            said = str(error)
        if said is not None:
            failed = True
            click.echo(f"{_shown((command,))}\n    failed: {said}", err=True)
    if failed:
        raise SystemExit(1)
