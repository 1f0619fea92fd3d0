"""The ledger as JSON lines: out, in, and out again; and copies of the file."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest

from scheduler.diagnostics import Refused
from scheduler.facts.fact import Retracted
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.publication import Published
from tests.facts.recorded import CUT, HARVEST, HOUR, MOISTURE, PULLED, SEASON

NOW = PULLED + 100 * HOUR
ENTRY = Published(3, "d1", NOW, b"BEGIN:VEVENT\r\nSUMMARY:R\xc3\xa4hmchen\r\nUID:a@kestrel\r\nSEQUENCE:3\r\nEND:VEVENT\r\n")


def exported(ledger: Ledger) -> str:
    stream = io.StringIO()
    ledger.export(stream)
    return stream.getvalue()


@pytest.fixture
def season(ledger: Ledger) -> str:
    """The export of a season with a retraction in it and a publication beside it."""
    given = ledger.append(SEASON, NOW)
    ledger.append([Retracted(occurred_at=NOW, replaces=given[2].id)], NOW + 1)
    ledger.outgoing.publish(Published, lambda before, first: {"a@kestrel": ENTRY})
    return exported(ledger)


def test_a_ledger_carried_to_another_place_is_the_same_ledger(season: str, tmp_path: Path) -> None:
    """Out, in and out again gives the same bytes; ids, order, moments and the revision of each publication come along."""
    with Ledger.open(tmp_path / "other.sqlite") as other:
        assert other.import_(io.StringIO(season), "season.jsonl") == len(SEASON) + 1
        assert exported(other) == season
        assert other.outgoing.published(Published) == {"a@kestrel": ENTRY}
        assert other.check() == []


def test_what_is_here_already_is_not_added_twice(ledger: Ledger, season: str) -> None:
    """The same export a second time changes nothing."""
    assert ledger.import_(io.StringIO(season + season.partition("\n")[2]), "season.jsonl") == 0
    assert exported(ledger) == season


def test_two_ledgers_flow_together(tmp_path: Path) -> None:
    """What the page took down in the field and what was told at home end in one ledger."""
    with Ledger.open(tmp_path / "home.sqlite") as home, Ledger.open(tmp_path / "field.sqlite") as field:
        home.append([HARVEST], NOW)
        field.import_(io.StringIO(exported(home)), "home.jsonl")
        home.append([MOISTURE], NOW + 1)
        field.append([CUT], NOW + 2)
        assert home.import_(io.StringIO(exported(field)), "field.jsonl") == 1
        assert {one.fact.kind for one in home.facts()} == {HARVEST.kind, MOISTURE.kind, CUT.kind}


def test_of_a_publication_the_higher_revision_is_kept(ledger: Ledger, season: str) -> None:
    """A subscriber who has seen revision 5 would not believe a 4."""
    newer = Published(5, "d2", NOW + 1, ENTRY.content.replace(b":3", b":5"))
    ledger.outgoing.publish(Published, lambda before, first: {"a@kestrel": newer})
    ledger.import_(io.StringIO(season), "season.jsonl")
    assert ledger.outgoing.published(Published)["a@kestrel"] == newer


FIRST = '{"afterpull ledger":1}\n'
FACT = '{"fact":{"kind":"task-done","occurred_at":1786018000,"task":"cut","v":1%s},"id":"%s","recorded_at":1786360000}\n'
GOOD = FACT % ("", "c" * 32)
SENT = '{"published":{"uid":"%s","sequence":%s,"digest":"d","last_modified":1786360000,"gone_since":null,"content":"%s"}}\n'
HELD = r"BEGIN:VEVENT\r\nUID:a\r\nSEQUENCE:3\r\nDTSTART;%s\r\nEND:VEVENT\r\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the file is empty"),
        ("time,temperature\n", "bad.jsonl:1:1: this line is not JSON"),
        ('{"afterpull ledger":3}\n', "bad.jsonl:1:1: the export is of a newer form"),
        ("{}\n", "bad.jsonl:1:1: this is not an export of a ledger"),
        (FIRST + GOOD + GOOD[:40], "bad.jsonl:3:1: this line is not JSON"),
        (FIRST + GOOD.replace("task-done", "task-dne"), 'bad.jsonl:2:1: the kind "task-dne" is not known here'),
        (FIRST + GOOD.replace("c" * 32, "C" * 32), "bad.jsonl:2:1: the id is not 32 hexadecimal digits"),
        (FIRST + GOOD.replace('"recorded_at":1786360000', '"recorded_at":true'), "bad.jsonl:2:1: recorded_at is not a whole number"),
        (FIRST + GOOD + GOOD.replace('"cut"', '"drain"'), f"bad.jsonl:3:1: the fact {'c' * 32} is in the ledger with another content"),
        (FIRST + FACT % (f',"replaces":"{"d" * 32}"', "c" * 32), f"bad.jsonl:2:1: this replaces the fact {'d' * 32}, which does not come before it"),
        (FIRST + GOOD + '{"published":{"uid":"a"}}\n', "bad.jsonl:3:1: this is not a publication"),
        (FIRST + "[]\n", "bad.jsonl:2:1: this line holds neither a fact nor a publication"),
        (FIRST + GOOD.replace("1786360000", "9" * 30), "bad.jsonl:2:1: recorded_at lies outside the years"),
        (FIRST + GOOD.replace("1786018000", "9" * 30), "bad.jsonl:2:1: task-done: occurred_at: it lies outside the years"),
        (FIRST + GOOD.replace("1786018000", "9" * 5000), "bad.jsonl:2:1: this line is not JSON"),
        (FIRST + GOOD.replace('"task":"cut"', '"task":"cut","amount":NaN'), "bad.jsonl:2:1: this line is not JSON"),
        (FIRST + GOOD.replace('"task":"cut"', '"task":"cut","amount":1e999'), "bad.jsonl:2:1: task-done: amount"),
        (FIRST + GOOD.replace('"task":"cut"', f'"task":"cut","amount":{"9" * 30}'), "bad.jsonl:2:1: task-done: amount"),
        (FIRST + GOOD.replace('"cut"', r'"cut \ud800"'), "bad.jsonl:2:1: task-done: task: input should be a valid string"),
        (FIRST + GOOD.replace('"cut"', "[" * 100_000 + "]" * 100_000), "bad.jsonl:2:1: "),
        (FIRST + GOOD.replace('"task"', '"self":1,"task"'), 'bad.jsonl:2:1: task-done: unknown key "self"'),
        (FIRST + SENT % ("a", "9" * 30, "x"), "bad.jsonl:2:1: this publication is no entry"),
        (FIRST + SENT % ("a", "3", "no entry"), "bad.jsonl:2:1: this publication is no entry"),
        (FIRST + SENT % ("a", "3", r"\ud800"), "bad.jsonl:2:1: the publication holds text that is not Unicode"),
        (FIRST + SENT % (r"\ud800", "3", "x"), "bad.jsonl:2:1: the uid or the digest of this publication cannot be"),
        (FIRST + SENT % ("a", "3", r"BEGIN:VEVENT\r\nUID:a\r\nSEQUENCE:4\r\nEND:VEVENT\r\n"), "bad.jsonl:2:1: this publication is no entry"),
        (FIRST + SENT % ("a", "3", HELD % "TZID=Mars/Phobos:20260811T100000"), "bad.jsonl:2:1: this publication is no entry"),
        (FIRST + SENT % ("a", "3", HELD % "TZID=Europe/Vienna:99990811T100000"), "bad.jsonl:2:1: this publication is no entry"),
        (FIRST + SENT % ("a", "3", HELD % f"TZID={'x' * 9000}:20260811T100000"), "bad.jsonl:2:1: this publication is no entry"),
    ],
)
def test_a_damaged_export_is_refused_with_its_line_and_nothing_of_it_is_added(ledger: Ledger, text: str, said: str) -> None:
    """Good lines before a bad one are not taken either: all or nothing."""
    with pytest.raises(Refused, match=re.escape(said)):
        ledger.import_(io.StringIO(text), "bad.jsonl")
    assert ledger.facts() == ()


@pytest.mark.parametrize(("from_the_end", "what"), [(23, "record the fact again"), (2, "run afterpull calendar, which makes the entry anew")])
def test_a_line_that_was_changed_on_the_way_is_refused_with_its_number(season: str, tmp_path: Path, from_the_end: int, what: str) -> None:
    """Of a fact or a publication: it reads well, but its checksum is another. Taken out on purpose, the rest is taken over."""
    lines = season.splitlines(keepends=True)
    line, left = len(lines) + 1 - from_the_end, len(lines) - 3
    lines[line - 1] = re.sub(r'("recorded_at"|"last_modified"):\d', r"\1:1", lines[line - 1].replace("178", "179"))
    with Ledger.open(tmp_path / "other.sqlite") as other:
        with pytest.raises(Refused, match=f"season.jsonl:{line}:1: this line was changed since it was written.*(?s:.*){what}"):
            other.import_(io.StringIO("".join(lines)), "season.jsonl")
        del lines[line - 1]
        with pytest.raises(Refused, match=re.escape(f'or {{"lines":{left}}} where that is meant')):
            other.import_(io.StringIO("".join(lines)), "season.jsonl")
        lines[-1] = f'{{"lines":{left}}}\n'
        other.import_(io.StringIO("".join(lines)), "season.jsonl")
        assert other.check() == []


def test_an_export_that_was_cut_off_on_the_way_is_refused(season: str, tmp_path: Path) -> None:
    """Between two lines, where each of those left reads well."""
    with Ledger.open(tmp_path / "other.sqlite") as other, pytest.raises(Refused, match="the export is cut short: its last line is missing"):
        other.import_(io.StringIO("".join(season.splitlines(keepends=True)[:-3])), "season.jsonl")


def test_every_bad_line_is_named_at_once(ledger: Ledger) -> None:
    """Nobody repairs a file one line a run."""
    with pytest.raises(Refused, match="neither a fact nor a publication") as caught:
        ledger.import_(io.StringIO(FIRST + "[]\n" + GOOD + "no\n"), "bad.jsonl")
    assert [one.line for one in caught.value.diagnostics] == [2, 4]


def test_an_export_that_is_not_utf8_is_refused(ledger: Ledger) -> None:
    """The bytes of another encoding are not guessed at."""
    with pytest.raises(Refused, match="not UTF-8"):
        ledger.import_(io.TextIOWrapper(io.BytesIO(FIRST.encode() + b"\xff\n"), encoding="utf-8"), "bad.jsonl")


def test_a_backup_is_a_whole_ledger_and_overwrites_nothing(tmp_path: Path) -> None:
    """It opens like the ledger it came from; a second backup needs a second name."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        given = ledger.append(SEASON, NOW)
        ledger.backup(tmp_path / "backup.sqlite")
        before = (tmp_path / "backup.sqlite").read_bytes()
        with pytest.raises(Refused, match="a backup overwrites nothing"):
            ledger.backup(tmp_path / "backup.sqlite")
    assert (tmp_path / "backup.sqlite").read_bytes() == before
    with Ledger.open(tmp_path / "backup.sqlite", create=False) as backup:
        assert backup.facts() == given
        assert backup.check() == []


@pytest.mark.system
def test_a_ledger_on_a_server_says_how_it_is_backed_up(ledger: Ledger, where: str, tmp_path: Path) -> None:
    """A file is copied; for a server the tool is named."""
    if where.startswith("postgresql"):
        with pytest.raises(Refused, match="pg_dump"):
            ledger.backup(tmp_path / "backup")
    else:
        ledger.backup(tmp_path / "backup")
        assert (tmp_path / "backup").exists()
