"""The service that runs the watch, installed by the keeper's word."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from scheduler.cli import main
from tests.application.watched_yard import season


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


def test_install_shows_the_file_and_writes_nothing_without_a_yes(where: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And with a yes it writes what it showed, under the settings folder; where the service manager fails it says so and fails too."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("PATH", str(tmp_path))
    unit = tmp_path / "settings/systemd/user/afterpull-watch.service"
    no = typed("watch", "--install", "--ledger", where, answer="n\n")
    assert "ExecStart=" in no.output
    assert not unit.exists()
    yes = typed("watch", "--install", "--yes", "--ledger", where)
    assert unit.read_text() in yes.output
    assert (yes.exit_code, "systemctl --user daemon-reload\n    failed: " in yes.stderr) == (1, True)
    gone = typed("watch", "--uninstall", "--yes")
    assert gone.exit_code == 1
    assert not unit.exists()
    assert "nothing to remove" in typed("watch", "--uninstall", "--yes").output
