"""What was sent cannot be read any more, by a disk that fails: calendars go on, under the same UIDs, and say that dates may move. The yard is invented."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from scheduler.application.publish import Feeds, select
from scheduler.ledger.publications import STEP
from scheduler.ledger.store import Ledger
from tests.keeper import Keeper
from tests.stores import overwrite
from tests.stories.conftest import in_a_file

UID = "2026-08-11/2.sitting@kestrel-bank.afterpull"

REMADE = "Some of what was sent before could not be read. These entries were made anew: their dates may move."


@pytest.fixture
def ridge(new_place: str) -> Keeper:
    """Kestrel Bank on the morning of the pull, whose calendar was written."""
    keeper = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    keeper.types("calendar")
    return keeper


def sequences(calendar: str) -> dict[str, int]:
    """The SEQUENCE of each entry by its UID."""
    return {uid: int(number) for uid, number in re.findall(r"UID:(\S+)\r?\nSEQUENCE:(\d+)", calendar.replace("\r\n ", "").replace("\n ", ""))}


def another_letter(where: str) -> None:
    """One letter of the title."""
    assert overwrite(where, "UPDATE published SET digest = 'x' || substr(digest, 2) WHERE uid = ?", UID) == 1


def no_entry(where: str) -> None:
    """Bytes that are none."""
    assert overwrite(where, "UPDATE published SET content = ? WHERE uid = ?", b"\x00" * 90, UID) == 1


def another_uid(where: str) -> None:
    """The UID itself."""
    assert overwrite(where, "UPDATE published SET uid = '2026-08-11/2.sitting@kestrel-band.afterpull' WHERE uid = ?", UID) == 1


def gone(where: str) -> None:
    """The whole row."""
    assert overwrite(where, "DELETE FROM published WHERE uid = ?", UID) == 1


@pytest.mark.parametrize("damage", [another_letter, no_entry, another_uid, gone])
def test_an_entry_that_can_not_be_read_is_made_anew_above_any_that_can(ridge: Keeper, damage: Callable[[str], None]) -> None:
    """`calendar` writes all of them; the damaged one under its UID, with a SEQUENCE that its subscribers believe. It says so once, and all is well again."""
    before = sequences(ridge.types("calendar"))
    damage(str(ridge.ledger))
    assert "dates may move" in ridge.types("ledger", "check", refused=True)
    said = ridge.types("calendar")
    after = sequences(said)
    assert REMADE in said
    assert after.keys() == before.keys()
    assert after[UID] >= max(before.values()) + STEP
    assert {uid: number for uid, number in after.items() if uid != UID} == {uid: number for uid, number in before.items() if uid != UID}
    assert ridge.types("ledger", "check").strip() == "nothing is wrong"
    again = ridge.types("calendar")
    assert REMADE not in again
    assert sequences(again) == after


def test_a_feed_goes_on_and_says_so_in_its_log(ridge: Keeper) -> None:
    """It had read the ledger before; at its next plan it meets the damage."""
    with Ledger.open(ridge.ledger) as ledger:
        said = list[str]()
        feeds = Feeds(ledger, lambda: ridge.now, said.append)
        before = sequences(feeds.rendered(select(everything=True)).content.decode())
        no_entry(str(ridge.ledger))
        ridge.now += 86400
        after = sequences(feeds.rendered(select(everything=True)).content.decode())
        assert (after.keys() >= before.keys() - {UID}, said) == (True, [REMADE])  # what was lost is another day's work now
        assert max(after.values()) >= STEP


def text_that_is_none(where: Path) -> None:
    """A UID that is no UTF-8, a number that became text."""
    overwrite(str(where), "UPDATE published SET uid = CAST(? AS TEXT) WHERE uid = ?", UID.encode().replace(b"sitting", b"s\xfftting"), UID)
    overwrite(str(where), "UPDATE published SET last_modified = 'noon' WHERE uid LIKE '%drain%'")


def page_of_zeros(where: Path) -> None:
    """The first page of the table."""
    with closing(sqlite3.connect(where)) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        [[page]] = file.execute("SELECT rootpage FROM sqlite_master WHERE name = 'published'")
        [[size]] = file.execute("PRAGMA page_size")
    with where.open("r+b") as raw:
        raw.seek((page - 1) * size)
        raw.write(b"\x00" * size)


def page_of_its_index(where: Path) -> None:
    """Of the index by UID a key is another."""
    with closing(sqlite3.connect(where)) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = where.read_bytes()
    at = [found.start() for found in re.finditer(re.escape(UID.encode()), content)]
    pages = [start for start in at if content[start // 4096 * 4096] in (2, 10)]  # of an index (SQLite file format, section 1.6)
    with where.open("r+b") as raw:
        raw.seek(pages[0])
        raw.write(b"a")


@pytest.mark.parametrize("damage", [text_that_is_none, page_of_zeros, page_of_its_index])
@in_a_file
def test_a_damaged_page_of_what_was_sent_does_not_stop_calendars(ridge: Keeper, tmp_path: Path, damage: Callable[[Path], None]) -> None:
    """Whatever the file gives, `calendar` writes what is planned, each entry once, again and again. To-dos keep their UIDs; a sitting of which nobody knows
    what it held is a new one, and what is planned no more is not called off: nobody knows that it was sent."""
    sound = Keeper(tmp_path / "sound.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    sound.types("calendar")
    damage(Path(ridge.ledger))
    assert ridge.types("ledger", "check", refused=True)
    for keeper in (sound, ridge):
        keeper.types("done", "a/cut.1", "--at", "10:59")
    planned = sequences(sound.types("calendar", "--todos")).keys()
    for _ in range(2):
        assert sequences(ridge.types("calendar", "--todos")).keys() >= planned
        written = ridge.types("calendar").replace("\n ", "")
        assert len(re.findall(r"\nUID:.*\.sitting@", written)) == len(set(re.findall(r"\nUID:.*\.sitting@", written))) > 10
    assert ridge.types("ledger", "export", str(tmp_path / "facts.jsonl"))


def test_an_import_into_a_damaged_ledger_leaves_it_to_be_made_anew(ridge: Keeper, tmp_path: Path) -> None:
    """What was lost is still lost: the next calendar has to know it."""
    ridge.types("ledger", "export", str(tmp_path / "facts.jsonl"))
    gone(str(ridge.ledger))
    lines = [line for line in (tmp_path / "facts.jsonl").read_text(encoding="utf-8").splitlines(keepends=True) if UID not in line]
    count = len(lines) - 2
    (tmp_path / "facts.jsonl").write_text("".join([*lines[:-1], f'{{"lines":{count}}}\n']), encoding="utf-8")
    ridge.types("ledger", "import", str(tmp_path / "facts.jsonl"))
    said = ridge.types("calendar")
    assert REMADE in said
    assert sequences(said)[UID] >= STEP
