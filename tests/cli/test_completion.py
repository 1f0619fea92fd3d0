"""What the shell completes."""

from __future__ import annotations

from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from scheduler.cli import main
from scheduler.cli.completion import TASK
from scheduler.cli.log_commands import done
from tests.keeper import Keeper, frozen


def test_completion_offers_open_tasks_only(ridge: Keeper) -> None:
    """By the beginning of an id or of one of its parts."""
    ridge.types("done", "close-up")
    context = click.Context(done)
    context.params["ledger"] = str(ridge.ledger)
    with frozen("2026-08-11T18:00"):
        offered = [item.value for item in TASK.shell_complete(context, done.params[0], "")]
        drains = [item.value for item in TASK.shell_complete(context, done.params[0], "drain")]
    assert "ridge-2/close-up" not in offered
    assert "ridge-2/reduce-entrances" in offered
    assert drains == ["ridge-2/a/drain.1"]


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("agenda --for ", ["keeper", "Ash"]),
        ("agenda --for A", ["Ash"]),
        ("agenda --at a", ["apiary", "anywhere"]),
        ("calendar --for k", ["keeper"]),
        ("calendar --at st", ["store"]),
        ("calendar --stream c", ["cut comb", "chunk honey"]),
    ],
)
def test_people_places_and_streams_are_completed_as_the_shell_asks(tmp_path: Path, typed: str, offered: list[str]) -> None:
    """By the protocol that a shell speaks with the program, in a yard where Ash works too."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "wattle_gully", "Australia/Hobart", "2026-02-21T09:30")
    words = typed.split(" ")
    environment = {"_AFTERPULL_COMPLETE": "bash_complete", "COMP_WORDS": f"afterpull {typed}", "COMP_CWORD": str(len(words))}
    result = CliRunner().invoke(main, env={**environment, "AFTERPULL_LEDGER": str(keeper.ledger)}, prog_name="afterpull")
    assert [line.removeprefix("plain,") for line in result.output.splitlines()] == offered


def test_completion_is_silent_without_a_ledger(tmp_path: Path) -> None:
    """It never speaks of errors."""
    context = click.Context(done)
    context.params["ledger"] = str(tmp_path / "none.sqlite")
    assert TASK.shell_complete(context, done.params[0], "") == []
