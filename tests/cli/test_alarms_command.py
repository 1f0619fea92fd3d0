"""`afterpull alarms`: which calendar rings, when each was last used, and whether the watch runs."""

from __future__ import annotations

from datetime import UTC, datetime

from click.testing import CliRunner

from scheduler.application.caldav_account import Account, remember, synced
from scheduler.application.feed_addresses import fetched, new
from scheduler.application.watch import WATCH
from scheduler.cli import main
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED
from tests.keeper import frozen

HOUR = 3600


def _said(where: str, *, name: str = "alarms", later: int = 2 * HOUR) -> str:
    """What the command says some time after the pull."""
    with frozen(datetime.fromtimestamp(PULLED + later, UTC).isoformat()):
        result = CliRunner().invoke(main, [name, "--ledger", where], env={"COLUMNS": "100"})
    assert result.exit_code == 0, result.output
    return result.output


def test_where_nothing_is_used_every_way_says_so(where: str) -> None:
    """Each with whether alarms ring there, and where that stands."""
    said = _said(where)
    assert said.count("- not in use") == 4
    assert "RFC 4791 section 8.6" in said


def test_a_subscription_says_when_it_was_last_fetched_and_from_where(where: str) -> None:
    """A phone that stopped asking is seen; one that never asked too."""
    with Ledger.open(where) as ledger:
        new(ledger, "kitchen", PULLED)
        new(ledger, "keeper", PULLED, own=True)
        fetched(ledger, "kitchen", PULLED + HOUR, here=False)
    said = " ".join(_said(where).split())
    assert "A subscription (afterpull serve) - in use: keeper (own work), never fetched; kitchen (everything), last fetched 1 h ago, from the network" in said
    assert "Alarms: unreliable." in said


def test_a_server_says_when_it_was_last_in_step(where: str) -> None:
    """The last sync that ended."""
    with Ledger.open(where) as ledger:
        remember(ledger, Account("https://calendar.example.org/dav/", "ash"), PULLED)
        assert "not synced since" in " ".join(_said(where).split())
        synced(ledger, PULLED + HOUR, "https://calendar.example.org/dav/")
    assert "https://calendar.example.org/dav/, last sync 1 h ago" in " ".join(_said(where).split())


def test_whether_the_watch_runs(where: str) -> None:
    """One that looked within three minutes runs; one that stopped says since when."""
    with Ledger.open(where) as ledger:
        ledger.outgoing.see(WATCH, PULLED + 2 * HOUR - 60, "{}")
    assert "(afterpull watch) - runs" in _said(where)
    assert "(afterpull watch) - does not run; it last looked 3 h 1 min ago" in " ".join(_said(where, later=5 * HOUR).split())


def test_the_old_word_works_one_version_more(where: str) -> None:
    """And says what it is called now."""
    said = _said(where, name="doctor")
    assert '"doctor" is called "alarms" now' in said
    assert "A subscription" in said
