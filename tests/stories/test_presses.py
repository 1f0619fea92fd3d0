"""A press is a fact or comes back: the ledger locked, no plan yet, the watch started again; and a watch that cannot look says so."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from scheduler import daemon
from scheduler.application.alert_ids import alert_key
from scheduler.application.press_queue import ABANDONED, PressQueue
from scheduler.application.watch import LEASE
from scheduler.diagnostics import Refused
from scheduler.facts.fact import Fact, TaskBegun, TaskDone
from scheduler.ledger.alerts import PlannedAlert, StoredAlert
from scheduler.ledger.store import Ledger
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.outputs.notify.message import Message
from tests.application.watched_yard import Keeps, at, log_harvest, telling
from tests.stories.conftest import in_a_file

SPIN, DRAIN = "ridge-2/b/spin", "ridge-2/a/drain.1"
EVENING = at("2026-08-11T18:30")


class Yard:
    """A ledger that holds the example, and its watch with a desktop; `now` is the watch's clock."""

    def __init__(self, where: str) -> None:
        self.where, self.now, self.desktop = where, EVENING, Keeps()
        self.all = list[daemon.Watch]()
        self.watch = self.started()

    def started(self) -> daemon.Watch:
        """A watch, as after a start."""
        self.all.append(daemon.Watch(self.where, NotificationConfig(), lambda *_: {"desktop": self.desktop}, lambda _: None, lambda: self.now))
        return self.all[-1]

    def press(self, key: str, button: str = "done") -> None:
        """As the desktop does."""
        self.watch._pressed(key, button)

    def facts(self) -> list[Fact]:
        """What was recorded of tasks."""
        with Ledger.open(self.where) as ledger:
            return [one.fact for one in ledger.facts() if isinstance(one.fact, TaskBegun | TaskDone)]

    def row(self, key: str) -> StoredAlert:
        """An alert as the ledger has it."""
        with Ledger.open(self.where) as ledger:
            return next(one for one in ledger.alerts.all() if one.id == key)

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Somebody else writes for a long time."""
        if self.where.startswith("postgresql"):
            with Ledger.open(self.where) as ledger, ledger.alerts._connections.writing():
                yield
            return
        with closing(sqlite3.connect(self.where, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            yield
            other.execute("ROLLBACK")


@pytest.fixture
def yard(new_place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Yard]:
    """Kestrel Bank on the evening of the pull; the watch has looked once."""
    monkeypatch.setattr(daemon, "PATIENCE", 0.1)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "own"))
    with Ledger.open(new_place) as ledger:
        log_harvest(ledger)
    found = Yard(new_place)
    found.watch.look()
    yield found
    for one in found.all:
        one.stop()


def told(yard: Yard, task: str) -> Message:
    """The message about a task that came to the desktop."""
    return next(one for one in yard.desktop.messages if one.key.startswith(f"{task}#"))


def test_a_press_while_the_ledger_is_locked_is_written_when_it_is_free_with_the_moment_of_the_press(yard: Yard) -> None:
    """Nothing is taken as heard before; the alert is, together with the fact."""
    key = alert_key(SPIN, 0, "keeper")
    with yard.locked():
        yard.press(key)
    assert yard.facts() == []
    assert yard.row(key).acknowledged_at is None
    yard.now += 300
    yard.watch.look()
    assert yard.facts() == [TaskDone(occurred_at=EVENING, task=SPIN)]
    with Ledger.open(yard.where) as ledger:
        assert not [one for one in ledger.alerts.all() if one.task == SPIN and one.next_attempt_at is not None]


def test_a_press_that_could_not_be_written_before_the_watch_ends_is_written_by_the_next(yard: Yard) -> None:
    """With the moment of the press; nothing is asked again, and nothing of it is left lying beside the ledger."""
    key = alert_key(SPIN, 0, "keeper")
    with yard.locked():
        yard.press(key)
        shown = len(yard.desktop.messages)
        yard.watch.stop()
    assert yard.facts() == []
    assert yard.row(key).acknowledged_at is None
    yard.watch, yard.now = yard.started(), EVENING + 900
    yard.watch.look()
    assert yard.facts() == [TaskDone(occurred_at=EVENING, task=SPIN)]
    assert not [one for one in yard.desktop.messages[shown:] if one.key == key]
    assert PressQueue(yard.where).waiting(yard.now) == []


PRESSED = """
import sys
from scheduler import daemon
from scheduler.outputs.notify.config import NotificationConfig
daemon.PATIENCE = 0.1
presses = []
watch = daemon.Watch(sys.argv[1], NotificationConfig(), lambda _, on_press: presses.append(on_press) or {}, lambda _: None, lambda: int(sys.argv[2]))
watch.look()
print("looked", flush=True)
sys.stdin.readline()
for key in sys.argv[3:]:
    presses[0](key, "done")
print("taken", flush=True)
sys.stdin.readline()
"""


def test_a_press_survives_a_watch_that_is_killed_while_the_ledger_is_locked(yard: Yard) -> None:
    """Once the program has taken it, kill -9 does not lose it; the next watch writes it once, with its moment, in the order of the presses."""
    yard.watch.stop()
    keys = [alert_key(SPIN, 0, "keeper"), alert_key(DRAIN, 0, "keeper")]
    command = [sys.executable, "-c", PRESSED, yard.where, str(EVENING), *keys]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as watch:
        assert watch.stdin is not None
        assert watch.stdout is not None
        assert watch.stdout.readline() == "looked\n"
        with yard.locked():
            watch.stdin.write("press\n")
            watch.stdin.flush()
            assert watch.stdout.readline() == "taken\n"
            watch.kill()
            watch.wait()
    assert yard.facts() == []
    yard.now = EVENING + LEASE + 1
    yard.watch = yard.started()
    yard.watch.look()
    assert yard.facts() == [TaskDone(occurred_at=EVENING, task=SPIN), TaskDone(occurred_at=EVENING, task=DRAIN)]


def test_a_press_that_was_written_before_its_watch_was_killed_is_not_written_twice(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed between the fact and the end of the press: the next watch meets it again. Put off for an hour is put off once."""
    monkeypatch.setattr(PressQueue, "drop", lambda *_: None)
    yard.press(alert_key(SPIN, 0, "keeper"), "hour")
    yard.press(alert_key(DRAIN, 0, "keeper"), "begun")
    with Ledger.open(yard.where) as ledger:
        position = ledger.position()
    yard.now += 60
    yard.watch = yard.started()
    yard.watch.look()
    with Ledger.open(yard.where) as ledger:
        assert ledger.position() == position


def test_two_watches_write_each_press_once_and_one_takes_up_what_the_other_left(yard: Yard) -> None:
    """On one desktop both hear of a press; what a watch has taken and cannot write any more is written by the other, which had been running all the time."""
    other = yard.started()
    other.look()
    with yard.locked():
        yard.press(alert_key(SPIN, 0, "keeper"))
    other.look()
    assert yard.facts() == []
    yard.now += ABANDONED
    other.look()
    yard.watch.look()
    assert yard.facts() == [TaskDone(occurred_at=EVENING, task=SPIN)]


@in_a_file
def test_a_press_that_neither_ledger_nor_disk_takes_is_asked_for_again_at_once(yard: Yard) -> None:
    """The message brings its button along, and a later press is taken: it says what it is about."""
    key = alert_key(SPIN, 0, "keeper")
    Path(f"{yard.where}.presses").write_text("no folder")
    with yard.locked():
        yard.press(key)
    asked = yard.desktop.messages[-1]
    assert asked.title == f"Not noted, press again: {SPIN}"
    assert yard.row(key).acknowledged_at is None
    yard.press(asked.key, asked.buttons[0].id)
    assert yard.facts() == [TaskDone(occurred_at=EVENING, task=SPIN)]


def test_a_press_before_there_is_a_plan_waits_for_one(new_place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An alert from before the yard file was lost is answered; the yard is set again, and then the answer is written."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "own"))
    where, key = new_place, alert_key(SPIN, 0, "keeper")
    with Ledger.open(where) as ledger:
        ledger.alerts.offer([PlannedAlert(key, SPIN, EVENING, "Spin", "crop")], EVENING)
    yard = Yard(where)
    yard.watch.look()
    yard.press(key)
    assert yard.row(key).acknowledged_at is None
    with Ledger.open(where) as ledger:
        log_harvest(ledger)
    yard.now += 60
    yard.watch.look()
    assert yard.facts() == [TaskDone(occurred_at=EVENING, task=SPIN)]
    yard.watch.stop()


def test_begun_is_begun_whatever_the_plan_says_meanwhile_and_once(yard: Yard) -> None:
    """The button says which of the two it means; a second press, on a notification that was left standing, moves no beginning."""
    key = alert_key(DRAIN, 0, "keeper")
    yard.press(key, "begun")
    yard.now += 600
    yard.press(key, "begun")
    assert yard.facts() == [TaskBegun(occurred_at=EVENING, task=DRAIN)]


def test_a_press_on_what_was_told_at_the_bench_meanwhile_changes_nothing(yard: Yard) -> None:
    """Spun at six and told so; then somebody tidies the notifications up."""
    with Ledger.open(yard.where) as ledger:
        ledger.append([TaskDone(occurred_at=at("2026-08-11T18:00"), task=SPIN)], EVENING)
    yard.press(alert_key(SPIN, 0, "keeper"))
    assert yard.facts() == [TaskDone(occurred_at=at("2026-08-11T18:00"), task=SPIN)]


@in_a_file
def test_a_fact_and_its_alert_are_written_together_or_not_at_all(yard: Yard) -> None:
    """The disk fails between the two."""
    with closing(sqlite3.connect(yard.where)) as store:
        store.execute("CREATE TRIGGER fails BEFORE UPDATE OF acknowledged_at ON alerts BEGIN SELECT RAISE(ABORT, 'disk'); END")
        store.commit()
    yard.press(alert_key(SPIN, 0, "keeper"))
    assert yard.facts() == []


def test_messages_sent_together_are_marked_together(tmp_path: Path) -> None:
    """Twenty alerts in one message, and the ledger fails at one of them: none is marked, so none is told by halves for ever."""
    keys = [alert_key(f"x/{number}", 0, "keeper") for number in range(20)]
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        ledger.alerts.offer([PlannedAlert(key, key.partition("#")[0], EVENING - 86400, "Look", "comfort") for key in keys], EVENING)
        with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as store:
            store.execute(f"CREATE TRIGGER fails BEFORE UPDATE OF told_at ON alerts WHEN NEW.id = '{keys[7]}' BEGIN SELECT RAISE(ABORT, 'disk'); END")
            store.commit()
        desktop = Keeps()
        with pytest.raises(Refused, match="disk"):
            telling(ledger, {"desktop": desktop}).look(EVENING)
        assert len(desktop.messages) == 1
        assert [one.told_at for one in ledger.alerts.all()] == [None] * 20


def moved(where: Path) -> None:
    """The ledger is carried away."""
    where.rename(where.with_suffix(".away"))


def damaged(where: Path) -> None:
    """Its first page is overwritten."""
    where.write_bytes(b"\x00" * 4096)


def newer(where: Path) -> None:
    """A newer program wrote to it."""
    with closing(sqlite3.connect(where)) as store:
        store.execute("UPDATE alembic_version SET version_num = '9999'")
        store.commit()


@in_a_file
@pytest.mark.parametrize("trouble", [moved, damaged, newer])
def test_a_watch_that_can_not_look_says_so_on_the_desktop_once(yard: Yard, trouble: object) -> None:
    """And not at its first look: a copy that takes a moment is no trouble."""
    yard.watch.stop()
    yard.desktop.messages.clear()
    trouble(Path(yard.where))  # type: ignore[operator]
    assert yard.watch.look() is None
    assert yard.desktop.messages == []
    for _ in range(4):
        yard.watch.look()
    [said] = yard.desktop.messages
    assert said.title == said.body.splitlines()[0] == "No alerts come: the watch cannot use its ledger"


def test_a_watch_that_found_its_ledger_again_tells_and_says_the_next_trouble_too(yard: Yard) -> None:
    """Locked for a long copy, free, locked again."""
    yard.desktop.messages.clear()
    for _ in range(2):
        yard.now += 3600
        with yard.locked():
            assert [yard.watch.look() for _ in range(3)] == [None] * 3
        assert yard.watch.look() is not None
    assert [one.title for one in yard.desktop.messages].count("No alerts come: the watch cannot use its ledger") == 2
