"""`afterpull watch` and `afterpull alert`, as they are typed."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from freezegun import freeze_time

from scheduler.cli import main
from scheduler.ledger.store import Ledger
from scheduler.quantities import show_duration
from tests.application.watched_yard import Fails, Keeps, at, config, season, telling


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A home that is empty, where no notification service answers."""
    monkeypatch.setenv("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nonexistent/bus")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))


@pytest.fixture
def where(tmp_path: Path, home: None) -> Iterator[str]:
    """The place of a ledger that holds the example, in that home."""
    with season(tmp_path):
        yield str(tmp_path / "ledger.sqlite")


def typed(*words: str, answer: str = "") -> Result:
    """Type a command."""
    return CliRunner().invoke(main, list(words), input=answer)


def test_a_ledger_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """With what to write, and exit status 2."""
    result = typed("watch", "--once", "--ledger", str(tmp_path / "none.sqlite"))
    assert result.exit_code == 2
    assert "there is no ledger here yet" in result.stderr


def test_what_nobody_heard_is_not_counted_as_told(where: str) -> None:
    """Without a desktop and without a terminal the alerts stay due, the exit status says so, and --status says why."""
    with freeze_time("2026-08-11T16:30:00Z"):
        once = typed("watch", "--once", "--ledger", where)
        status = typed("watch", "--status", "--ledger", where)
    assert once.exit_code == 1
    assert "0 sent, 0 held back, " in once.output
    assert "last looked 0 min ago" in status.output
    assert "because desktop: no notification service answers" in status.output


def test_status_says_what_comes_next(where: str) -> None:
    """And that a ledger was never watched."""
    assert "no watch has looked at this ledger yet" in typed("watch", "--status", "--ledger", where).output
    with Ledger.open(where) as ledger, freeze_time("2026-08-11T15:00:00Z"):
        telling(ledger, {"desktop": Keeps()}, config("repeat: {times: 0}\n")).look(at("2026-08-11T17:00"))
        soon = min((one for one in ledger.alerts.all() if one.due_at > at("2026-08-11T17:00")), key=lambda one: one.due_at)
        left = show_duration(soon.due_at - at("2026-08-11T17:00"))
        assert f"next: in {left}: {soon.say[:20]}" in typed("watch", "--status", "--ledger", where).output


def test_a_file_of_channels_that_is_wrong_is_refused_with_its_place(where: str, tmp_path: Path) -> None:
    """Before anything is told."""
    (tmp_path / "mine.yaml").write_text("people: {keeper: {tell: [desk]}}\n")
    result = typed("watch", "--once", "--ledger", where, "--channels", str(tmp_path / "mine.yaml"))
    assert result.exit_code == 2
    assert 'mine.yaml:1:25: keeper gets alerts through "desk"' in result.stderr
    assert 'write "desktop"' in result.stderr


def test_alert_test_says_of_each_channel_whether_it_was_taken(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit status 1 where nothing but the terminal took it."""
    result = typed("alert", "test")
    assert result.exit_code == 1
    assert "desktop: not sent: no notification service answers" in result.output
    channels = {"desktop": Keeps(), "push": Fails("push", "429 from push://token")}
    monkeypatch.setattr("scheduler.daemon.channels_of", lambda *_: channels)
    result = typed("alert", "test")
    assert (result.exit_code, result.output) == (0, "desktop: taken\npush: not sent: 429 from push://…\n")


@pytest.mark.slow
def test_the_watch_ends_when_it_is_told_to(where: str) -> None:
    """SIGTERM ends it with status 0, and the right to tell is free at once."""
    command = [sys.executable, "-m", "scheduler", "watch", "--ledger", where]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"}) as running:
        assert running.stdout is not None
        assert "watching ledger.sqlite" in running.stdout.readline()
        until = time.monotonic() + 60
        with Ledger.open(where) as ledger:
            while ledger.outgoing.last_seen("watch") is None and time.monotonic() < until:
                time.sleep(0.1)
        running.terminate()
        _, errors = running.communicate(timeout=60)
    assert (running.returncode, errors) == (0, "")
    with Ledger.open(where) as ledger:
        assert ledger.alerts.lease("watch", "another", 0, 1) == "another"
