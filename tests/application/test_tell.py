"""What was seen, and what is taken back, as people say it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.keeper import Keeper


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["freezer", "temperature", "-16", "C"], "freezer temperature of freezer: -16 C"),
        (["freezer", "temperature", "3 °F"], "freezer temperature of freezer: 3 °F"),
        (["room", "humidity", "60%"], "room humidity of room: 60%"),
        (["dearth", "began"], "robbing begins: seen on 2026-08-11"),
        (["First", "Frost", "--on", "2026-08-09"], "first frost: seen on 2026-08-09"),
    ],
)
def test_what_was_seen_is_told_as_people_say_it(ridge: Keeper, words: list[str], told: str) -> None:
    """With or without a degree sign, in capitals or not."""
    assert told in ridge.types("observe", *words)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["moisture", "17.8 %"], "--of ridge-2/a or --of ridge-2/b"),
        (["moisture", "17.8"], "17.8"),
        (["moisture", "80 %", "--of", "a"], "cannot be"),
        (["moisture", "17.8 %", "--of", "z"], '"z" is not one of what it can be of'),
        (["first", "forst"], '"first frost"'),
        (["first", "frost", "--on", "2026-10-09"], "is still to come"),
        (["first", "frost", "--on", "autumn"], '"autumn" is not a date'),
    ],
)
def test_what_can_not_have_been_seen_is_refused(ridge: Keeper, words: list[str], told: str) -> None:
    """Of what, in which unit, on which day."""
    assert told in ridge.types("observe", *words, refused=True)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["observe", "moisture", "17.8 %", "--of", "b"], "reading moisture of ridge-2/b"),
        (["observe", "first", "frost"], "observed first frost"),
        (["skip", "b/strain", "--until", "tomorrow 18:00"], "task put off ridge-2/b/strain"),
        (["serve", "--new", "kitchen"], "setting changed feed address of kitchen"),
    ],
)
def test_what_is_taken_back_is_named(ridge: Keeper, words: list[str], told: str) -> None:
    """Whatever it was, a setting too: an address that works no longer is not lost unseen."""
    ridge.types(*words)
    assert f"Taken back: {told}, of Tue 11 Aug 20:00" in ridge.types("undo")


def test_of_several_files_none_is_logged_where_one_is_refused(ridge: Keeper, tmp_path: Path) -> None:
    """And both faults are told."""
    good = (ridge.folder / "ridge-2.yaml").read_text(encoding="utf-8").replace("ridge-2", "ridge-4")
    for name, text in (("good", good), ("bad", good.replace("frames: 5", "frames: 0")), ("worse", good.replace("shallow", "tiny"))):
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    text = ridge.types("log", "good.yaml", "bad.yaml", "worse.yaml", refused=True)
    assert "bad.yaml:6:" in text
    assert "worse.yaml:6:" in text
    assert [one.harvest for one in ridge.view.harvests] == ["ridge-2"]
