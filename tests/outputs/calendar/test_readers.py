"""Independent readers take every instant of our calendars to be the one that was meant."""

from __future__ import annotations

import os
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import recurring_ical_events
from icalendar import Calendar

from scheduler.outputs.calendar.check import check
from scheduler.outputs.calendar.entry import Entry
from scheduler.outputs.calendar.publication import publish
from scheduler.outputs.calendar.vcalendar import feed
from tests.chance import LONG, random_of
from tests.outputs.calendar.zones import HARD, PLAIN, work_around_changes

HERE = Path(__file__).parent
Instants = dict[str, tuple[int, int]]


def put_down(entries: list[Entry], folder: Path) -> tuple[Path, Instants]:
    """One calendar of some entries, and the instants that were meant."""
    path = folder / "zones.ics"
    path.write_bytes(b"".join(feed(publish(entries, {}, 1_786_000_000), name="Zones", yard="Kestrel Bank")))
    return path, {entry.uid: (entry.start, entry.end) for entry in entries}


@pytest.fixture(scope="module")
def entries() -> list[Entry]:
    """Work around every change of the clocks in 29 zones."""
    return [entry for zone in (*HARD, *PLAIN) for entry in work_around_changes(zone)]


@pytest.fixture(scope="module")
def written(entries: list[Entry], tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Instants]:
    """One calendar of them all."""
    return put_down(entries, tmp_path_factory.mktemp("calendar"))


def printed(words: list[str], **environment: str) -> Instants:
    """What a reader prints: one "UID start end" a line."""
    done = subprocess.run(words, capture_output=True, text=True, check=False, env={**os.environ, **environment})
    assert done.returncode == 0, done.stderr
    return {uid: (int(start), int(end)) for uid, start, end in (line.split() for line in done.stdout.splitlines())}


def readers() -> Path:
    """Where .ci/readers.sh put ical.js and the libical program."""
    return Path(os.environ["AFTERPULL_READERS"])


def test_our_own_checker_finds_nothing(written: tuple[Path, Instants]) -> None:
    """The calendar of 29 zones is sound by the octet rules and the rest."""
    assert check(written[0].read_bytes(), "zones.ics") == []


def test_icalendar_reads_every_instant(written: tuple[Path, Instants]) -> None:
    """The icalendar library goes by the zone's name."""
    calendar = Calendar.from_ical(written[0].read_bytes())
    assert {str(event["UID"]): (int(event.start.timestamp()), int(event.end.timestamp())) for event in calendar.events} == written[1]


def test_recurring_ical_events_reads_every_instant(written: tuple[Path, Instants]) -> None:
    """A reader that expands calendars finds each entry once, when it was meant."""
    calendar = Calendar.from_ical(written[0].read_bytes())
    found = recurring_ical_events.of(calendar).between(datetime(2025, 12, 1, tzinfo=UTC), datetime(2029, 2, 1, tzinfo=UTC))
    assert {str(event["UID"]): (int(event.start.timestamp()), int(event.end.timestamp())) for event in found} == written[1]
    assert len(found) == len(written[1])


@pytest.mark.system
def test_ical_js_reads_every_instant(written: tuple[Path, Instants]) -> None:
    """ical.js trusts the file's own VTIMEZONE, as many web calendars do."""
    assert printed(["node", str(HERE / "icaljs_reader.mjs"), str(written[0])]) == written[1]


@pytest.mark.system
def test_libical_reads_every_instant_and_finds_no_restriction_broken(written: tuple[Path, Instants]) -> None:
    """libical trusts the file's own VTIMEZONE, as many desktop calendars do."""
    assert printed([str(readers() / "libical_reader"), str(written[0])]) == written[1]


@pytest.mark.system
@pytest.mark.slow
def test_khal_imports_and_lists_every_instant(entries: list[Entry], tmp_path: Path) -> None:
    """A calendar for the terminal takes the file in, entry by entry, and shows each, in UTC; in a short run one in five of them."""
    path, meant = put_down(entries if LONG else random_of("khal").sample(entries, len(entries) // 5), tmp_path)
    config = tmp_path / "khal.conf"
    config.write_text(
        f"[calendars]\n[[yard]]\npath = {tmp_path}/yard\ntype = calendar\n[sqlite]\npath = {tmp_path}/khal.db\n"
        "[locale]\nlocal_timezone = UTC\ndefault_timezone = UTC\ntimeformat = %H:%M\ndateformat = %Y-%m-%d\nlongdateformat = %Y-%m-%d\n"
        "datetimeformat = %Y-%m-%dT%H:%M\nlongdatetimeformat = %Y-%m-%dT%H:%M\n[default]\ndefault_calendar = yard\n"
    )
    home = {"HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path)}
    subprocess.run(["khal", "-c", str(config), "import", "--batch", "-a", "yard", str(path)], check=True, capture_output=True, env={**os.environ, **home})
    words = ["khal", "-c", str(config), "list", "--once", "--day-format", "", "--format", "{uid} {start-long} {end-long}", "2025-12-31", "1100d"]
    listed = subprocess.run(words, check=True, capture_output=True, text=True, env={**os.environ, **home}).stdout
    found = {uid: (_utc(start), _utc(end)) for uid, start, end in (line.split() for line in listed.splitlines() if line)}
    assert found == meant


def _utc(text: str) -> int:
    return int((datetime.fromisoformat(text).replace(tzinfo=UTC) - datetime(1970, 1, 1, tzinfo=UTC)) / timedelta(seconds=1))
