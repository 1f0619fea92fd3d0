"""The file of channels: named, in the settings folder, or none."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.cli.channels_option import config_from, usual_channels
from scheduler.diagnostics import Refused

FILE = "people: {keeper: {tell: [terminal]}}\n"


@pytest.fixture
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The settings folder of an empty home."""
    monkeypatch.setattr("platformdirs.user_config_path", lambda *_, **__: tmp_path / "settings")
    (tmp_path / "settings").mkdir()
    return tmp_path / "settings"


def told_through(path: Path | None) -> list[str]:
    """The channels that the keeper is told through."""
    return sorted({name for names in config_from(path).people["keeper"].tell.values() for name in names})


def test_a_file_that_is_named_goes_before_the_usual_one(settings: Path, tmp_path: Path) -> None:
    """Without either the keeper is told at the desktop."""
    assert (usual_channels(), told_through(None)) == (None, ["desktop"])
    (settings / "channels.yaml").write_text(FILE)
    assert (usual_channels(), told_through(None)) == (settings / "channels.yaml", ["terminal"])
    (tmp_path / "own.yaml").write_text(FILE.replace("terminal", "desktop"))
    assert told_through(tmp_path / "own.yaml") == ["desktop"]


def test_a_file_that_was_named_and_is_not_there_is_refused(settings: Path, tmp_path: Path) -> None:
    """The usual one is not taken in its place."""
    (settings / "channels.yaml").write_text(FILE)
    with pytest.raises(Refused, match="cannot be read"):
        config_from(tmp_path / "none.yaml")


def test_where_nobody_is_at_home_there_is_no_usual_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """And no fault."""

    def homeless(*_: object, **__: object) -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr("platformdirs.user_config_path", homeless)
    assert usual_channels() is None
