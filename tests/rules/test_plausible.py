"""What is well formed and cannot be meant is refused with its place and what to write. The cards are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.diagnostics import Refused
from scheduler.rules.load import load

RULES = """\
ruleset: mine
version: 1
parameters:
  rest: {{value: {value}, basis: assumed, checked: 2026-11-25}}
tasks:
  rest it:
    title: Rest
    how: Lids on
    for: cut comb
    why: Invented.
    hold: {{at least: $rest}}
    {more}
"""


def found(tmp_path: Path, more: str, value: str = "12 h") -> list[tuple[str, str]]:
    """What is wrong with a card, and what to write."""
    path = tmp_path / "mine.yaml"
    path.write_text(RULES.format(value=value, more=more), encoding="utf-8")
    try:
        load((str(path),), {})
    except Refused as refused:
        return [(one.message, one.write) for one in refused.diagnostics]
    return []


@pytest.mark.parametrize(
    ("more", "said", "write"),
    [
        ("hands: -5 min", '"-5 min" is less than no time', "45 min"),
        ("repeat: {every: -7 d, times: 3}", '"-7 d" is less than no time', "12 h"),
        ("window: {sun: {at: dusk, from: 30 min, to: 30 min}}", "a window from 30 min to 30 min about dusk is never open", "from: -30 min, to: 60 min"),
        ("occupies: {freezer: $rest}", '"$rest" is a duration, and equipment holds room or pieces', "10 L"),
        ("together: 150 %", "is no share of the time that one takes", "50 %"),
        ("together: 0 %", "is no share of the time that one takes", "50 %"),
        ("provisional: no", "is the reason for which a date is only likely", "leave it out"),
        ("occupies: {frezer: 10 L}", 'no equipment is called "frezer"', '"freezer"'),
        ("occupies: {freezer: 10 kg}", '"10 kg" is a mass, and equipment holds room or pieces', "10 L"),
        ("when: room.temperature > 70", "room.temperature > 70: 70 is read in °C", '"the room\'s temperature is more than 70 °F"'),
        ("when: \"room.temperature > q('3 h')\"", "a temperature and a duration are compared", "two of a kind"),
        ("when: lot.frames < param.rest", "a count and a duration are compared", "two of a kind"),
        ("after: {spin: {}}", "this card would never wait for it", "spin: {across: harvest}"),
        ("mind: [{if: room.temperature > 90.0, say: Too hot}]", "90 is read in °C", "more than 90 °F"),
    ],
)
def test_what_cannot_be_meant_is_refused(tmp_path: Path, more: str, said: str, write: str) -> None:
    """Each was silent, and made a wrong plan."""
    [(message, remedy)] = found(tmp_path, more)
    assert said in message
    assert write in remedy


def test_a_parameter_below_nothing_is_refused_where_it_stands(tmp_path: Path) -> None:
    """A floor of minus twelve hours would shorten a kill."""
    assert found(tmp_path, "loss: crop", "-12 h") == [('parameter "rest" > value: "-12 h" is less than no time', '"12 h"')]


@pytest.mark.parametrize(
    "more",
    [
        "hands: 0 min",
        "together: 100 %",
        "occupies: {drain rack: 2}",
        "occupies: {freezer: 10 L}",
        "when: room.temperature > 21.0",
        "when: \"room.temperature > q('70 °F')\"",
        "when: room.temperature - freezer.temperature > 30.0",
        "when: lot.pieces > 60.0",
        "after: {spin: {across: harvest}}",
        "after: {close up: {}}",
        "provisional: until the reading",
        "window: [{clock: '20:00-08:00'}]",
        "window: {temperature: {days at least: 12 °C, days at most: 12 °C}}",
    ],
)
def test_what_can_be_meant_is_taken(tmp_path: Path, more: str) -> None:
    """Also where it is unusual."""
    assert found(tmp_path, more) == []
