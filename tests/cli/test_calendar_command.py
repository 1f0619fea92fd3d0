"""`afterpull calendar` and `afterpull calendar check`."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.cli import main


@pytest.mark.usefixtures("at_the_pull")
def test_the_calendar_is_written_and_is_sound(where: str, tmp_path: Path) -> None:
    """To a file, then checked by the other command; the same bytes go to standard output."""
    out = tmp_path / "yard.ics"
    assert CliRunner().invoke(main, ["calendar", "--ledger", where, "--out", str(out)]).exit_code == 0
    checked = CliRunner().invoke(main, ["calendar", "check", str(out)])
    assert (checked.exit_code, checked.output) == (0, f"{out}: sound\n")
    assert CliRunner().invoke(main, ["calendar", "--ledger", where]).stdout_bytes == out.read_bytes()
    assert b"BEGIN:VTODO" in CliRunner().invoke(main, ["calendar", "--ledger", where, "--todos"]).stdout_bytes


def test_a_damaged_calendar_is_refused_with_every_line(tmp_path: Path) -> None:
    """Bare line feeds and a missing UID: exit 2, each fault with its line, what to write below it."""
    bad = tmp_path / "bad.ics"
    bad.write_bytes(b"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:x\nBEGIN:VEVENT\nDTSTAMP:20260811T083000Z\nDTSTART:20260811T083000Z\nEND:VEVENT\nEND:VCALENDAR\n")
    checked = CliRunner().invoke(main, ["calendar", "check", str(bad)])
    assert checked.exit_code == 2
    assert f"{bad}:4:1: VEVENT has no UID\n    write UID:..." in checked.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--stream", "cutcomb"], 'there is no stream "cutcomb"'),
        (["--todos", "--holds"], "a hold is nothing to do"),
    ],
)
def test_a_selection_that_can_not_be_is_refused(where: str, words: list[str], said: str) -> None:
    """Exit 2 and what to write."""
    told = CliRunner().invoke(main, ["calendar", "--ledger", where, *words])
    assert (told.exit_code, said in told.stderr, "write" in told.stderr) == (2, True, True)


def test_without_a_ledger_the_keeper_is_told_to_make_one(tmp_path: Path) -> None:
    """Exit 2, and no ledger is left behind."""
    told = CliRunner().invoke(main, ["calendar", "--ledger", str(tmp_path / "none.sqlite")])
    assert told.exit_code == 2
    assert "afterpull init" in told.stderr
    assert list(tmp_path.iterdir()) == []
