"""Notifications that arrive: a notification service on a display and a session bus of their own, one that keeps the exact arguments, and none.

The names of arguments are those of the Desktop Notifications Specification of freedesktop.org, org.freedesktop.Notifications.Notify.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import threading
from collections.abc import Mapping
from pathlib import Path

import pytest

from scheduler.outputs.notify.desktop import ICON, Desktop
from scheduler.outputs.notify.message import Button, Message
from tests.application.watched_yard import at, season

ROOT = Path(__file__).parents[3]
NOW = at("2026-08-11T11:01")
WATCH = f"{sys.executable} -m tests.outputs.notify.desktop_session"


def on_a_bus(script: str, folder: Path, environment: Mapping[str, str] = {}) -> str:
    """Run a shell script on a session bus of its own; what it printed."""
    inherited = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "DBUS_SESSION_BUS_ADDRESS")}
    settings = {**inherited, "PYTHONPATH": str(ROOT), "HOME": str(folder), "LEDGER": str(folder / "ledger.sqlite"), "FOLDER": str(folder), **environment}
    ran = subprocess.run(["dbus-run-session", "--", "bash", "-c", script], env=settings, cwd=ROOT, capture_output=True, text=True, timeout=120, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder whose ledger holds the example."""
    with season(tmp_path):
        return tmp_path


DUNST = """
Xvfb -displayfd 3 -screen 0 800x600x24 3>"$FOLDER/display" 2>/dev/null & xvfb=$!
until [ -s "$FOLDER/display" ]; do sleep 0.05; done
export DISPLAY=:$(cat "$FOLDER/display")
dunst -config "$FOLDER/dunstrc" -print >"$FOLDER/shown" 2>"$FOLDER/dunst.log" & dunst=$!
until busctl --user status org.freedesktop.Notifications >/dev/null 2>&1 || dunstctl count >/dev/null 2>&1; do sleep 0.05; done
"""
PRESS = """
until [ "$(dunstctl count displayed)" -ge 1 ]; do sleep 0.05; done
dunstctl context
wait $watch
kill $dunst $xvfb
cat "$FOLDER/shown"
"""


@pytest.mark.system
@pytest.mark.slow
@pytest.mark.parametrize(("button", "fact"), [("Done", "TaskDone("), ("In an hour", "AlertAcknowledged(")])
def test_a_notification_is_shown_and_the_press_of_its_button_is_a_fact(folder: Path, button: str, fact: str) -> None:
    """Shown as critical, with the words of the rule; the answer comes back to the ledger."""
    menu = folder / "menu"
    menu.write_text(f'#!/bin/sh\ngrep "{button}" | head -n 1\n')
    menu.chmod(0o755)
    (folder / "dunstrc").write_text(f'[global]\n    dmenu = "{menu}"\n')
    said = on_a_bus(f'{DUNST}{WATCH} "$LEDGER" {NOW} 3 & watch=$!\n{PRESS}', folder)
    assert "1 told, desktop, None" in said
    assert fact in said
    assert "Freezer hold done: 16 packages of lot a" in said
    assert "urgency: CRITICAL" in said
    assert ICON.name in said


MOCK = """
/usr/bin/python3 -m dbusmock --session --template notification_daemon -l "$FOLDER/calls" >/dev/null 2>&1 & mock=$!
until [ -n "$(dbus-send --session --print-reply --dest=org.freedesktop.DBus / org.freedesktop.DBus.ListNames | grep Notifications)" ]; do sleep 0.05; done
"""


@pytest.mark.system
@pytest.mark.slow
def test_the_service_is_called_with_exact_arguments(folder: Path) -> None:
    """Our name and icon, the words, the three answers, the urgency; and markup in a yard's words stays words."""
    said = on_a_bus(f'{MOCK}{WATCH} "$LEDGER" {NOW} 2\nkill $mock\ncat "$FOLDER/calls"', folder)
    assert "1 told, desktop, None" in said
    (call,) = said.split(" Notify ")[1:]
    assert f'"afterpull" 0 "{ICON.as_uri()}" "Freezer hold done: 16 packages of lot a.' in call
    assert '"done ridge-2/a/freeze.1#0@keeper", "Done", "hour ridge-2/a/freeze.1#0@keeper", "In an hour", "evening ' in call
    assert '"urgency": 2' in call


@pytest.mark.system
@pytest.mark.slow
def test_markup_in_words_is_shown_as_words(folder: Path) -> None:
    """The body of a notification is markup by the specification; a lot named <b> is still called that."""
    send = "from scheduler.outputs.notify.message import Message; from scheduler.outputs.notify.desktop import Desktop"
    send += "; print(Desktop(print).send(Message('k', 'Lot <b>', 'Lot <b> & co')))"
    said = on_a_bus(f'{MOCK}{sys.executable} -c "{send}"\nkill $mock\ngrep Notify "$FOLDER/calls"', folder)
    assert '"Lot <b>" "Lot &lt;b&gt; &amp; co"' in said


@pytest.mark.system
@pytest.mark.slow
def test_a_service_that_dies_and_comes_back_is_found_again(folder: Path) -> None:
    """While it is away the reason is given; nothing is taken as told."""
    send = f"""
import subprocess, sys, time
from scheduler.outputs.notify.message import Message
from scheduler.outputs.notify.desktop import Desktop
desktop, mock = Desktop(print), None
def start():
    mock = subprocess.Popen(["/usr/bin/python3", "-m", "dbusmock", "--session", "--template", "notification_daemon"], stdout=subprocess.DEVNULL)
    listing = ["dbus-send", "--session", "--print-reply", "--dest=org.freedesktop.DBus", "/", "org.freedesktop.DBus.ListNames"]
    while b"org.freedesktop.Notifications" not in subprocess.run(listing, capture_output=True).stdout: time.sleep(0.05)
    return mock
message = Message("k", "Moth", "{"x"}")
mock = start(); print(desktop.send(message))
mock.kill(); mock.wait(); print(desktop.send(message))
mock = start(); print(desktop.send(message)); mock.kill(); mock.wait()
"""
    (folder / "send.py").write_text(send)
    first, away, back = on_a_bus(f'{sys.executable} "$FOLDER/send.py"', folder).splitlines()
    assert (first, back) == ("None", "None")
    assert away.startswith("no notification service answers: ")


@pytest.mark.system
@pytest.mark.slow
def test_a_bus_without_a_service_is_a_failure_with_its_reason(folder: Path) -> None:
    """The alert stays due, and --status can say why."""
    said = on_a_bus(f'{WATCH} "$LEDGER" {NOW} 2', folder)
    assert "0 told, None, desktop: no notification service answers: " in said


def test_without_a_bus_nothing_counts_as_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The library hides the failure; the channel does not."""
    monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nonexistent/bus")
    pressed = threading.Event()
    reason = Desktop(lambda *_: pressed.set()).send(Message("k", "Moth", "", buttons=(Button("done", "Done"),)))
    assert str(reason).startswith("no notification service answers: ")


def test_the_icon_is_ours_and_there() -> None:
    """A PNG file of 128 by 128 (PNG specification, section 11.2.2: width and height follow the chunk's name)."""
    content = ICON.read_bytes()
    assert content[:8] == b"\x89PNG\r\n\x1a\n"
    assert (int.from_bytes(content[16:20], "big"), int.from_bytes(content[20:24], "big")) == (128, 128)


def _luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.1, definitions)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("behind", ["#ffffff", "#1e1e22"])
def test_the_icon_stands_out_from_light_and_dark(behind: str) -> None:
    """Graphics need a contrast of 3 to 1 (WCAG 2.1, success criterion 1.4.11): the frame and the glass have it on both."""
    drawn = ICON.with_suffix(".svg").read_text(encoding="utf-8")
    frame = max(set(re.findall(r"#[0-9a-f]{6}", drawn)), key=drawn.count)
    lighter, darker = sorted((_luminance(frame), _luminance(behind)), reverse=True)
    assert (lighter + 0.05) / (darker + 0.05) >= 3


SERVICE = """
import asyncio, threading, time
from dbus_fast.aio import MessageBus
from dbus_fast.service import ServiceInterface, dbus_method, dbus_signal
from scheduler.outputs.notify.desktop import Desktop
from scheduler.outputs.notify.message import Button, Message

class Notes(ServiceInterface):
    shown = []
    @dbus_method()  # actions are pairs of identifier and title, the first pair that of the notification itself
    def Notify(self, app: "s", old: "u", icon: "s", title: "s", body: "s", actions: "as", hints: "a{sv}", timeout: "i") -> "u":
        self.shown.append(actions)
        return len(self.shown)
    @dbus_method()
    def GetCapabilities(self) -> "as":
        return ["body", "actions"]
    @dbus_method()
    def GetServerInformation(self) -> "ssss":
        return ["notes", "nobody", "1", "1.2"]
    @dbus_signal()
    def ActionInvoked(self, number, action) -> "us":
        return [number, action]

async def serve():
    bus = await MessageBus().connect()
    bus.export("/org/freedesktop/Notifications", notes)
    await bus.request_name("org.freedesktop.Notifications")

notes, loop, pressed, answered = Notes("org.freedesktop.Notifications"), asyncio.new_event_loop(), [], threading.Event()
threading.Thread(target=loop.run_forever, daemon=True).start()
asyncio.run_coroutine_threadsafe(serve(), loop).result(10)
before = Desktop(lambda *_: None)
before.send(Message("ridge-2/b/spin#0@keeper", "Spin", "", buttons=(Button("done", "Done"),)))
after = Desktop(lambda key, button: (pressed.append((key, button)), answered.set()))
after.send(Message("other", "Other", "", buttons=(Button("done", "Done"),)))
loop.call_soon_threadsafe(notes.ActionInvoked, 1, notes.shown[0][2])
loop.call_soon_threadsafe(notes.ActionInvoked, 99, "done")
answered.wait(10)
loop.call_soon_threadsafe(notes.ActionInvoked, 2, notes.shown[1][2])
for _ in range(200):
    if len(pressed) == 2: break
    time.sleep(0.05)
print(pressed)
"""


@pytest.mark.system
@pytest.mark.slow
def test_a_notification_that_an_earlier_process_left_answers_too(folder: Path) -> None:
    """What is pressed says what it is about, each press once; what belongs to another program is none of ours."""
    (folder / "service.py").write_text(SERVICE)
    assert "[('ridge-2/b/spin#0@keeper', 'done'), ('other', 'done')]" in on_a_bus(f"timeout 60 {sys.executable} {folder}/service.py", folder)
