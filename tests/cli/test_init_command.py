"""`afterpull init`: a yard from its file or from words, asked for where it is not said."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.cli import main
from scheduler.facts.yard import read_yard
from tests.keeper import Keeper


def test_the_first_yard_file_fits_the_place_and_is_not_overwritten(ridge: Keeper, tmp_path: Path) -> None:
    """In the units asked for, with comments."""
    words = [
        "init",
        "--yard",
        "Pear Hill",
        "--latitude",
        "46.3",
        "--longitude",
        "14.2",
        "--timezone",
        "Europe/Ljubljana",
        "--units",
        "us",
        "--ledger",
        str(tmp_path / "new.sqlite"),
    ]
    assert "Pear Hill (Europe/Ljubljana) is set" in ridge.types(*words)
    text = (tmp_path / "yard.yaml").read_text(encoding="utf-8")
    assert "70 °F" in text
    assert "#  first frost: 14 October" in text
    assert "exists already" in ridge.types(*words, refused=True)


def test_a_yard_is_set_from_its_file_or_from_words_not_both(ridge: Keeper) -> None:
    """A name beside the file would be passed over in silence."""
    assert "--from takes all of the yard" in ridge.types("init", "--from", str(ridge.folder / "yard.yaml"), "--yard", "Pear Hill", refused=True)
    assert ridge.view.yard.yard == "Kestrel Bank"


def test_what_is_not_said_about_the_yard_is_asked(ridge: Keeper, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Name, place and units; the zone of the machine is offered, and an answer that cannot be is asked for again."""
    monkeypatch.setenv("TZ", "Pacific/Chatham")
    monkeypatch.setattr("scheduler.cli.init_command.at_terminal", lambda: True)
    answers = ["Pear Hill", "south", "-43.9", "-176.5", "", "imperial", "us"]
    words = ["init", "--ledger", str(tmp_path / "new.sqlite")]
    result = CliRunner().invoke(main, words, input="".join(f"{answer}\n" for answer in answers))
    assert (result.exit_code, "Time zone [Pacific/Chatham]" in result.output) == (0, True)
    found = read_yard((tmp_path / "yard.yaml").read_bytes(), "yard.yaml")
    assert (found.yard, found.place.latitude, found.place.longitude, found.place.timezone, found.units) == ("Pear Hill", -43.9, -176.5, "Pacific/Chatham", "us")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "write afterpull init --yard NAME --latitude DEGREES --longitude DEGREES"),
        (["--yard", "Pear Hill", "--latitude", "-43.9", "--yes"], "write afterpull init --longitude DEGREES"),
        (["--yard", "Pear Hill", "--latitude", "-43.9", "--longitude", "-176.5"], "this would set the time zone Pacific/Chatham and metric units"),
    ],
)
def test_where_nobody_can_be_asked_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str) -> None:
    """What only the keeper knows has to be said, and what the machine would choose is told before it is chosen."""
    monkeypatch.setenv("TZ", "Pacific/Chatham")
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(main, ["init", *words, "--ledger", str(tmp_path / "new.sqlite")], input="Pear Hill\n1\n2\n\nus\n")
    assert (result.exit_code, "nothing was changed" in result.output, said in result.output) == (2, True, True), result.output
    assert list(tmp_path.iterdir()) == []


def test_yes_takes_the_zone_of_the_machine_and_metric_units(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As it said it would."""
    monkeypatch.setenv("TZ", "Pacific/Chatham")
    monkeypatch.chdir(tmp_path)
    words = ["init", "--yard", "Pear Hill", "--latitude", "-43.9", "--longitude", "-176.5", "--yes", "--ledger", str(tmp_path / "new.sqlite")]
    assert CliRunner().invoke(main, words).exit_code == 0
    found = read_yard((tmp_path / "yard.yaml").read_bytes(), "yard.yaml")
    assert (found.place.timezone, found.units) == ("Pacific/Chatham", "metric")


def test_a_place_that_can_not_be_is_refused_and_nothing_is_written(ridge: Keeper, tmp_path: Path) -> None:
    """91 degrees north."""
    words = [
        "init",
        "--yard",
        "Pole",
        "--latitude",
        "91",
        "--longitude",
        "0",
        "--timezone",
        "UTC",
        "--units",
        "metric",
        "--ledger",
        str(tmp_path / "new.sqlite"),
    ]
    assert "latitude" in ridge.types(*words, refused=True)
    assert not (tmp_path / "yard.yaml").exists()
