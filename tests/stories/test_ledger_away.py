"""A ledger that is locked, moved away or replaced while a watch runs on it. The yard and its harvest are the invented example."""

from __future__ import annotations

import threading
import time
from pathlib import Path
from uuid import uuid4

import pytest

from scheduler.application.alert_ids import alert_key
from scheduler.daemon import Watch, run
from scheduler.ledger.alerts import PlannedAlert
from scheduler.ledger.store import Ledger
from scheduler.outputs.notify.config import NotificationConfig
from tests.application.watched_yard import Keeps
from tests.stores import place

MOTH = PlannedAlert(alert_key("x/moth", 0, "keeper"), "x/moth", 1000, "Moth", "crop")


def made(path: Path | str) -> str:
    """A ledger with one alert that is due."""
    with Ledger.open(path) as ledger:
        ledger.alerts.offer([MOTH], 0)
    return str(path)


def watching(where: str) -> tuple[Watch, Keeps, list[str]]:
    """A watch, what it delivers and what it says."""
    desktop, said = Keeps(), list[str]()
    return Watch(where, NotificationConfig(), lambda *_: {"desktop": desktop}, said.append, lambda: 1000), desktop, said


def test_a_ledger_that_was_replaced_is_followed(tmp_path: Path) -> None:
    """A backup put in its place is read from the next look on, not the file that is gone."""
    where = made(tmp_path / "ledger.sqlite")
    watch, desktop, _ = watching(where)
    watch.look()
    Path(made(tmp_path / "other.sqlite")).replace(where)
    for beside in ("-wal", "-shm"):
        Path(where + beside).unlink(missing_ok=True)
    watch.look()
    watch.stop()
    assert desktop.titles() == ["Moth", "Moth"]


def test_a_ledger_that_was_moved_away_is_missed_in_words_once_and_found_again(tmp_path: Path) -> None:
    """Nothing is made anew in its place, and the desktop says once that no alerts come."""
    where = made(tmp_path / "ledger.sqlite")
    watch, desktop, said = watching(where)
    Path(where).rename(tmp_path / "away.sqlite")
    assert watch.look() is None
    assert watch.look() is None
    assert [line for line in said if "there is no ledger here yet" in line] == said
    assert len(said) == 1
    assert not Path(where).exists()
    (tmp_path / "away.sqlite").rename(where)
    watch.look()
    watch.stop()
    assert desktop.titles() == ["No alerts come: the watch cannot use its ledger", "Moth"]


def test_a_ledger_that_is_locked_is_waited_for(new_place: str) -> None:
    """A look that meets the lock says so, and the next one tells."""
    where = made(new_place)
    watch, desktop, said = watching(where)
    with Ledger.open(where) as other, other.alerts._connections.writing():
        assert watch.look() is None
        assert "locked by another program" in said[0]
    watch.look()
    watch.stop()
    assert desktop.titles() == ["Moth"]


@pytest.mark.system
def test_two_ledgers_in_one_database_do_not_wait_for_each_other(tmp_path: Path) -> None:
    """Two keepers share a server; each ledger is a schema of its own."""
    with place("postgresql", tmp_path) as mine, place("postgresql", tmp_path) as theirs:
        made(theirs)
        with Ledger.open(mine) as other, other.alerts._connections.writing(), Ledger.open(theirs, patience=0.1) as ledger:
            assert ledger.alerts.lease("watch", "one", 1001, 1002) == "one"


@pytest.mark.system
def test_a_server_that_was_restarted_is_asked_anew(tmp_path: Path) -> None:
    """It ends every connection as it stops; the next look makes another, and nothing comes twice."""
    import psycopg  # the extra of those whose ledger lies on a server

    with place("postgresql", tmp_path) as bare:
        where = f"{bare}%20-capplication_name%3D{uuid4().hex}"  # tests that run beside this one keep theirs
        made(where)
        watch, desktop, said = watching(where)
        watch.look()
        with psycopg.connect(where) as server:
            ours = "application_name = current_setting('application_name') AND pid <> pg_backend_pid()"
            assert server.execute(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE {ours}").rowcount
        watch.look()
        watch.stop()
        assert not [line for line in said if "server" in line]
        assert desktop.titles() == ["Moth"]


def test_the_timer_looks_until_it_is_stopped_and_lets_go_of_the_right_to_tell(tmp_path: Path) -> None:
    """Another watch can begin at once."""
    where = made(tmp_path / "ledger.sqlite")
    watch, desktop, _ = watching(where)
    stop = threading.Event()
    thread = threading.Thread(target=run, args=(watch, 0.05, stop))
    thread.start()
    end = time.monotonic() + 20
    while not desktop.messages and time.monotonic() < end:
        time.sleep(0.01)
    stop.set()
    thread.join()
    assert desktop.titles() == ["Moth"]
    with Ledger.open(where) as ledger:
        assert ledger.alerts.lease("watch", "another", 1001, 1002) == "another"
