"""The watch as a service of the person who is logged in: the text for systemd, launchd and the Windows task scheduler. Pure."""

from __future__ import annotations

import plistlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from subprocess import list2cmdline
from xml.sax.saxutils import escape

_DESCRIPTION = "afterpull: alerts of what is due after the honey supers come off"


@dataclass(frozen=True, slots=True)
class UserService:
    """A file to write, and the commands that start and stop what it describes."""

    path: Path
    content: bytes
    start: tuple[tuple[str, ...], ...]
    stop: tuple[tuple[str, ...], ...]


def user_service(platform: str, home: Path, settings: Path, command: Sequence[str]) -> UserService:
    """The service for a platform as `sys.platform` names it; `settings` is the folder of all settings there (XDG), `command` starts the watch."""
    if platform == "darwin":
        path = home / "Library/LaunchAgents/afterpull.watch.plist"
        return UserService(path, launchd_agent(command), (("launchctl", "load", "-w", str(path)),), (("launchctl", "unload", "-w", str(path)),))
    if platform == "win32":
        path = home / "AppData/Local/afterpull/watch.xml"
        name = ("/TN", "afterpull watch")
        create = ("schtasks", "/Create", *name, "/XML", str(path), "/F")
        delete = ("schtasks", "/Delete", *name, "/F")
        return UserService(path, scheduled_task(command), (create, ("schtasks", "/Run", *name)), (("schtasks", "/End", *name), delete))
    unit = "afterpull-watch.service"
    path = settings / "systemd/user" / unit
    control = ("systemctl", "--user")
    return UserService(path, systemd_unit(command), ((*control, "daemon-reload"), (*control, "enable", "--now", unit)), ((*control, "disable", "--now", unit),))


def systemd_unit(command: Sequence[str]) -> bytes:
    """A systemd user unit (systemd.service(5), quoting as in systemd.syntax(7))."""
    lines = [
        "[Unit]",
        f"Description={_DESCRIPTION}",
        "",
        "[Service]",
        f"ExecStart={' '.join(map(_quoted, command))}",
        "Restart=always",
        "RestartSec=5",
        "",
        "[Install]",
        "WantedBy=default.target",
    ]
    return ("\n".join(lines) + "\n").encode()


def launchd_agent(command: Sequence[str]) -> bytes:
    """A launchd agent (launchd.plist(5)), started at login and kept alive."""
    return plistlib.dumps({"Label": "afterpull.watch", "ProgramArguments": list(command), "RunAtLoad": True, "KeepAlive": True, "ProcessType": "Background"})


def scheduled_task(command: Sequence[str]) -> bytes:
    """A task of the Windows Task Scheduler (schema version 1.2), started at logon, on battery too, and again where it ends."""
    program, *arguments = command
    text = f"""<?xml version="1.0" encoding="UTF-16"?>
<Task version="1.2" xmlns="http://schemas.microsoft.com/windows/2004/02/mit/task">
  <RegistrationInfo><Description>{escape(_DESCRIPTION)}</Description></RegistrationInfo>
  <Triggers><LogonTrigger><Enabled>true</Enabled></LogonTrigger></Triggers>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <DisallowStartIfOnBatteries>false</DisallowStartIfOnBatteries>
    <StopIfGoingOnBatteries>false</StopIfGoingOnBatteries>
    <ExecutionTimeLimit>PT0S</ExecutionTimeLimit>
    <RestartOnFailure><Interval>PT1M</Interval><Count>999</Count></RestartOnFailure>
  </Settings>
  <Actions><Exec><Command>{escape(program)}</Command><Arguments>{escape(list2cmdline(arguments))}</Arguments></Exec></Actions>
</Task>
"""
    return text.encode("utf-16")


def _quoted(word: str) -> str:
    for sign, safe in (("\\", "\\\\"), ('"', '\\"'), ("%", "%%"), ("$", "$$")):
        word = word.replace(sign, safe)
    return f'"{word}"'
