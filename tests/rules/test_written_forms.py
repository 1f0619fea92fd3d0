"""How people write weekdays, spans, days warm enough, times and lags: read as meant, or refused at its place with what to write instead."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.documents import read
from scheduler.rules.load import check
from scheduler.rules.schema import Card

CARD = "    title: Look\n    for: cut comb\n    why: To see.\n"
READ = [  # each line with the longer way that it stands for
    ("window: on sat and sun", "window: {on: sat-sun}"),
    ("window: on the weekend", "window: {on: sat-sun}"),
    ("window: weekdays", "window: {on: mon-fri}"),
    ("window: saturdays", "window: {on: sat}"),
    ("window: Sat, Wed", "window: {on: [sat, wed]}"),
    ("window: on friday to monday", "window: {on: fri-mon}"),
    ("window: At dusk", "window: {sun: {at: dusk}}"),
    ("window: in daylight", "window: {daylight: yes}"),
    ("window: 8:00-12:00", "window: {clock: '08:00-12:00'}"),
    ("window: outside of the robbing", "window: {season: {outside: robbing}}"),
    ("window: days of 12 °C or warmer", "window: {temperature: {days at least: 12 °C}}"),
    ("window: nights 5 °C or colder", "window: {temperature: {nights at most: 5 °C}}"),
    ("earliest: the pull", "earliest: pulled"),
    ("earliest: 2 weeks before the first frost", "earliest: {of: first frost, minus: 2 weeks}"),
    ("earliest: October 1st", "earliest: {of: 1 October}"),
    ("earliest: 3 d before the first frost", "earliest: first frost - 3 d"),
    ("due: 2 weeks after 1 Oct", "due: {of: 1 October, plus: 2 weeks}"),
    ("due: [{is: 3 d before 1 Oct, if: beetle was seen}, 2 d before 1 Oct]", "due: [[{is: 3 d before 1 October, if: beetle was seen}, 2 d before 1 October]]"),
    ("window: between 1 November and 15 March", "window: {season: {inside: 1 Nov to 15 Mar}}"),
    ("window: outside 20 Dec - 6 Jan", "window: {season: {outside: 20 December to 6 January}}"),
    ("repeat: every 30 d, until 1 March", "repeat: {every: 30 d, until: {of: 1 March}}"),
    ("repeat: every week, 5 times", "repeat: {every: 1 week, times: 5}"),
    ("repeat: every 2 weeks until first frost", "repeat: {every: 2 weeks, until: first frost}"),
    ("after: {cut: within 90 mins}", "after: {cut: {within: 90 mins}}"),
]
REFUSED = [  # each line with the column, and what is written instead
    ("window: on funday", 13, '"sun"'),
    ("window: on 2026-08-15", 13, "days of the week: sat, mon-fri, or wed, sat"),
    ("window: inside flow", 13, "one of: robbing, beetle, treatment"),
    ("window: in the evening", 13, '"dusk", "daylight", "on sat-sun", "outside robbing"'),
    ("window: days of 3 h or warmer", 13, '"21 °C" or "70 °F"'),
    ("window: days at least 12", 13, '"12 °C" or "12 °F"'),
    ("hold: 24 to 48 h", 11, '"48 h", or "24 h"'),
    ("hold: 24-48 h", 11, '"48 h", or "24 h"'),
    ("hold: 1,5 h", 11, '"1.5 h"'),
    ("hold: 2 Hours", 11, "one of s, min, minute, minutes, h, hour, hours"),
    ("hold: {at least: [2 h]}", 23, "[{is: $short rest, if: beetle was seen}, $long rest]"),
    ("earliest: 3 after the pull", 15, '"3 h" or "3 min"'),
    ("earliest: 3 kg after the pull", 15, '"12 h" or "45 min"'),
    ("earliest: 31 November", 15, '"1 November" to "30 November"'),
    ("earliest: 3 d after octobr 1", 15, "October"),
    ("earliest: 2026-10-01", 15, '"1 October"'),
    ("window: between 31 June and 3 July", 13, '"1 June" to "30 June"'),
    ("window: outside 1 September", 13, '"25 July to 15 October"'),
    ("earliest: 3 d after robbing", 15, '"robbing ends"'),
    ("repeat: every 7 days", 13, '"every 7 d, 6 times" or'),
    ("after: cut within 2 h", 12, "{cut: within 2 h}"),
    ("after: cut, candle", 12, "[cut, candle]"),
    ("after: {cut: at least 12 h and within 2 d}", 18, "{at least: 12 h, within: 2 d}"),
]


def told(folder: Path, *lines: str) -> list[tuple[int, int, str]]:
    """What a check of cards with these lines finds, but for advice: line, column and what to write instead."""
    cards = "".join(f"  look {number}:\n{CARD}    {line}\n" for number, line in enumerate(lines))
    (folder / "mine.yaml").write_text(f"ruleset: mine\nversion: 1\ntasks:\n{cards}", encoding="utf-8")
    return [(one.diagnostic.line, one.diagnostic.column, one.diagnostic.write) for one in check(["mine.yaml"], beside=folder) if not one.advice]


def card(line: str) -> Card:
    """A card with a line."""
    return Card.model_validate(read(f"title: Look\nfor: cut comb\nwhy: To see.\n{line}\n".encode(), "mine.yaml").data)


@pytest.mark.parametrize(("short", "long"), READ)
def test_what_people_write_is_read_as_it_is_meant(short: str, long: str) -> None:
    """The short way is the long one."""
    assert card(short) == card(long)


def test_all_of_these_are_sound_in_a_rule_file(tmp_path: Path) -> None:
    """No fault, whichever way it is written."""
    assert told(tmp_path, *(line for pair in READ for line in pair)) == []


def test_what_cannot_be_read_is_refused_with_what_to_write(tmp_path: Path) -> None:
    """At the place of the value: what is no form of a card first, and then what a form says wrongly."""
    left = REFUSED
    for _ in range(2):
        found = {line: (column, cure) for line, column, cure in told(tmp_path, *(line for line, _, _ in left))}
        for number, (line, column, write) in enumerate(left):
            if (place := 8 + 5 * number) in found:
                assert (line, found[place][0], found[place][1][: len(write)]) == (line, column, write)
        left = [one for number, one in enumerate(left) if 8 + 5 * number not in found]
    assert left == []
