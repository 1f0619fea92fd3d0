"""Every --help shows an example, and the examples work as they stand."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from scheduler.cli import main
from tests.keeper import EXAMPLES, frozen

AUGUST, OCTOBER = "2026-08-13T18:00Z", "2026-10-10T18:00Z"
MY_RULES = """\
ruleset: my rules
version: 1
overlay: true
scenarios:
  - name: entrances are reduced after a pull
    expect:
      reduce entrances: {count: 1}
"""
NEEDS_MORE = {"serve", "watch", "sync", "alert", "alarms"}  # a network, a desktop or an answer; tested where these are set up


def commands(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """A command and all below it, each with the words that call it."""
    yield path, command
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            found = command.get_command(context, name)
            assert found is not None
            yield from commands(found, (*path, name))


def examples(command: click.Command) -> list[list[str]]:
    """The command lines of a command's example, as a shell would split them."""
    told = re.sub(r"^Examples?: ", "", " ".join((command.epilog or "").split()))
    lines = re.split(r"(?:,|;)?\s*(?:or|then|and from then on)?:?\s*\bafterpull ", told)
    return [shlex.split(line.partition(" > ")[0]) for line in lines if line]


ALL = {path: command for path, command in commands(main) if path}
LEAVES = {path: command for path, command in ALL.items() if not isinstance(command, click.Group)}
RUNS = [(path, words) for path, command in ALL.items() if path[0] not in NEEDS_MORE for words in examples(command)]


@pytest.mark.parametrize("path", list(LEAVES), ids=" ".join)
def test_help_shows_an_example_of_the_command_itself(path: tuple[str, ...]) -> None:
    """Whose options and arguments the command takes."""
    shown = examples(LEAVES[path])
    assert shown
    for words in shown:
        assert tuple(words[: len(path)]) == path
        LEAVES[path].make_context(" ".join(path), words[len(path) :], parent=click.Context(main))


@pytest.fixture(scope="module")
def laid_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a yard, a harvest that is logged, a rule file and what was exported."""
    folder = tmp_path_factory.mktemp("bench")
    for name in ("yard.yaml", "ridge-2.yaml"):
        shutil.copy(EXAMPLES / "kestrel_bank" / name, folder)
    (folder / "my_rules.yaml").write_text(MY_RULES, encoding="utf-8")
    days = [date(2026, 6, 1) + timedelta(number) for number in range(60)]
    (folder / "scale.csv").write_text("date,mass\n" + "".join(f"{day},{40 + number / 2}\n" for number, day in enumerate(days)), encoding="utf-8")
    (folder / "weather.csv").write_text("date,tmin,tmax\n" + "".join(f"{day},11,24\n" for day in days), encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch, frozen(AUGUST):
        settle(folder, patch)
        for words in (["init", "--from", "yard.yaml"], ["log", "ridge-2.yaml"], ["ledger", "export", "facts.jsonl"], ["calendar", "--out", "yard.ics"]):
            assert CliRunner().invoke(main, words).exit_code == 0, words
    return folder


def settle(folder: Path, patch: pytest.MonkeyPatch) -> None:
    """Work in a folder, with what it holds."""
    patch.chdir(folder)
    patch.setenv("AFTERPULL_LEDGER", str(folder / "ledger.sqlite"))
    patch.setenv("XDG_STATE_HOME", str(folder))


@pytest.fixture
def bench(laid_out: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The same folder, for one command to change."""
    shutil.copytree(laid_out, tmp_path, dirs_exist_ok=True)
    settle(tmp_path, monkeypatch)
    return tmp_path


@pytest.mark.parametrize(("path", "words"), RUNS, ids=[" ".join(words) for _, words in RUNS])
def test_the_example_works(bench: Path, path: tuple[str, ...], words: list[str]) -> None:
    """Typed as it stands, it ends well."""
    if path == ("init",):
        (bench / "yard.yaml").unlink()
    before = {("release",): ["observe", "foulbrood", "--of", "north"], ("undo",): ["done", "a/drain", "--yes"]}
    if path in before:
        with frozen(AUGUST):
            assert CliRunner().invoke(main, before[path]).exit_code == 0
    with frozen(OCTOBER if "2026-10-09" in words else AUGUST):
        result = CliRunner().invoke(main, words)
    assert result.exit_code == 0, result.output
