"""Every broken yard and harvest file is refused in the words of the text file beside it.

To add one: write tests/facts/broken/yard/NAME.yaml, run the test, read what it says, and keep that as NAME.txt.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from scheduler.diagnostics import Refused
from scheduler.facts.harvest import read_harvest
from scheduler.facts.yard import Yard, read_yard

BROKEN = Path(__file__).resolve().parent / "broken"
NOW = int(datetime(2026, 8, 12, 12, tzinfo=UTC).timestamp())
YARD = """
yard: Kestrel Bank
place: {latitude: 46.31, longitude: 14.18, timezone: Europe/Ljubljana}
hands: {mon-fri: "17:30-21:30"}
room: {temperature: 21 °C, humidity: 55 %}
"""


def cases(kind: str) -> list[str]:
    """The names of the broken files of one kind."""
    return sorted(path.stem for path in (BROKEN / kind).glob("*.yaml"))


def yard() -> Yard:
    """A sound yard for the broken harvests."""
    return read_yard(YARD.encode(), "yard.yaml")


def message(kind: str, content: bytes, name: str) -> str:
    """What the person is told."""
    read = {"yard": lambda: read_yard(content, name), "harvest": lambda: read_harvest(content, name, yard(), NOW)}[kind]
    with pytest.raises(Refused, match=re.escape(name)) as refused:
        read()
    return f"{refused.value}\n"


@pytest.mark.parametrize(("kind", "case"), [(kind, case) for kind in ("yard", "harvest") for case in cases(kind)])
def test_a_broken_file_is_refused_with_its_place_and_what_to_write(kind: str, case: str) -> None:
    """File, line, column, what is wrong, what to write; the words are kept, so that a change of them is seen."""
    told = message(kind, (BROKEN / kind / f"{case}.yaml").read_bytes(), f"{case}.yaml")
    assert told == (BROKEN / kind / f"{case}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", ["yard", "harvest"])
def test_every_message_names_its_file_and_a_cure(kind: str) -> None:
    """No fault is told without a place in the file and something to write."""
    for case in cases(kind):
        lines = (BROKEN / kind / f"{case}.txt").read_text(encoding="utf-8").splitlines()
        assert lines[0].startswith(f"{case}.yaml:")
        assert all(line.startswith((f"{case}.yaml:", "    write ")) for line in lines)
        assert sum(line.startswith("    write ") for line in lines) == sum(line.startswith(f"{case}.yaml:") for line in lines)


def test_a_file_in_another_encoding_is_refused_at_the_byte() -> None:
    """A degree sign saved as Latin-1 is not UTF-8."""
    told = message("yard", "yard: Kestrel Bank\nroom: {temperature: 21 °C}\n".encode("latin-1"), "yard.yaml")
    assert told.startswith("yard.yaml:2:24: byte 0xb0 is not UTF-8 text\n    write ")


def test_a_file_of_ten_megabytes_is_refused_unread() -> None:
    """The size is looked at before the content."""
    told = message("harvest", b"# " + b"x" * 10_000_000, "harvest.yaml")
    assert told.startswith("harvest.yaml: the file is 10 MB")


def test_a_byte_order_mark_is_no_fault() -> None:
    """Some editors write one."""
    assert read_yard(b"\xef\xbb\xbf" + YARD.encode(), "yard.yaml").yard == "Kestrel Bank"
