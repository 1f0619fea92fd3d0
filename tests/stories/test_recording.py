"""What hands did is true: it is recorded late, early, out of its order and beside the plan, and what follows is planned from that; nothing else is."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.application.ledger_view import LedgerView
from scheduler.facts.fact import TaskDone
from scheduler.planning.planner import possible_ids
from tests.chance import random_of, times
from tests.keeper import Keeper, section


@pytest.fixture
def ridge(new_place: str) -> Keeper:
    """Kestrel Bank on the morning of the pull."""
    return Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")


def test_wet_frames_given_back_in_time_and_told_after_it_are_given_back(ridge: Keeper) -> None:
    """By the last evening the plan chose the other way, to keep them wet; they were on the hives by 21:00, and come off them later."""
    ridge.waits_until("2026-08-12T20:30").types("done", "b/spin", "--at", "18:00")
    ridge.waits_until("2026-08-30T21:59")
    assert ridge.has("b/keep-wet")
    assert not ridge.has("b/give-back")
    assert "done Sun 30 Aug 21:00" in ridge.types("done", "b/give-back", "--at", "21:00")
    assert ridge.task("b/give-back").status == "done"
    assert not ridge.has("b/keep-wet")
    assert ridge.task("b/take-off").start > ridge.now
    ridge.types("undo", "b/give-back")
    assert ridge.has("b/keep-wet")


@pytest.mark.slow
def test_work_that_was_told_months_later_is_done_when_it_was_done(ridge: Keeper) -> None:
    """It has no hold, so it was not only begun; and of what holds the beginning is told first, as ever."""
    ridge.waits_until("2026-11-26T08:00")
    assert "done Tue 11 Aug 20:00" in ridge.types("done", "b/spin", "--at", "2026-08-11T20:00")
    assert "begun Tue 11 Aug 20:30" in ridge.types("done", "a/drain.1", "--at", "2026-08-11T20:30")
    assert (ridge.task("b/spin").status, "ridge-2/a/drain.1" in ridge.view.happened.begun) == ("done", True)


def test_a_lapsed_look_that_was_taken_is_recorded(ridge: Keeper) -> None:
    """The stored comb is looked at until spring; a look beyond the plan's last one was taken all the same."""
    ridge.waits_until("2027-03-20T10:00")
    looks = [name for name in possible_ids(ridge.view.problem, [card for card in ridge.view.rules.cards if card.name == "inspect comb"]) if "/c/" in name]
    ridge.types("done", looks[0], "--at", "yesterday 16:00")
    assert ridge.task(looks[0].removeprefix("ridge-2/")).status == "done"


def test_what_is_held_back_or_impossible_can_have_been_done(tmp_path: Path, ridge: Keeper) -> None:
    """No freezer of the yard is cold enough to kill, so the plan holds the comb back; it was frozen at a friend's."""
    ridge.types("observe", "freezer temperature", "2 °C", "--of", "freezer")
    yard = "\n".join(line for line in (ridge.folder / "yard.yaml").read_text(encoding="utf-8").splitlines() if "cellar" not in line)
    (tmp_path / "yard.yaml").write_text(yard, encoding="utf-8")
    ridge.types("init", "--from", str(tmp_path / "yard.yaml"))
    ridge.waits_until("2026-08-16T20:00")
    without = [task.id for task in ridge.plan.tasks if task.status in ("held back", "impossible")]
    assert "ridge-2/a/freeze.1" in without
    ridge.types("done", "a/freeze.1", "--whole", "--at", "Sat 18:00")
    assert ridge.task("a/freeze.1").status == "done"
    after = [task for task in ridge.plan.tasks if any(link.task == "ridge-2/a/freeze.1" for link in task.links) and task.lot == "a"]
    assert after
    assert all(task.is_open or any(link.task in without for link in task.links) for task in after)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("example", "timezone", "harvest", "now"),
    [
        ("kestrel_bank", "Europe/Ljubljana", "ridge-2", "2026-08-20T11:00"),
        ("pelican_bend", "America/Chicago", "levee-1", "2026-06-28T09:00"),
        ("wattle_gully", "Australia/Hobart", "creek-2", "2026-04-12T11:00"),
    ],
)
def test_any_card_can_be_marked_done(tmp_path: Path, example: str, timezone: str, harvest: str, now: str) -> None:
    """Each of them alone (a run tries some of them), planned or not: it is in the plan as done, and the plan keeps its own limits."""
    keeper = Keeper(tmp_path / "ledger.sqlite", example, timezone, now).logs(harvest)
    view = keeper.view
    names = possible_ids(view.problem, view.rules.in_order)
    assert len(set(names) - {task.id for task in view.plan.tasks}) > 5
    firsts = sorted({name.rpartition(".")[0] or name: name for name in reversed(names)}.values())
    for name in random_of(example).sample(firsts, max(4, times(len(firsts)))):
        with_it = LedgerView(view.recorded, view.now).supposing(TaskDone(occurred_at=keeper.now, task=name))
        found = {task.id: task.status for task in with_it.plan.tasks}
        assert found.get(name) == "done", name
        assert not [warning for warning in with_it.plan.warnings if warning.kind == "fault"], name


def test_a_hold_is_not_ended_by_a_corrected_time(ridge: Keeper) -> None:
    """Set to drain at 20:10 and told so; five minutes later the keeper means to say that it was 20:05."""
    ridge.waits_until("2026-08-11T20:15").types("done", "a/cut.1", "--at", "19:30")
    ridge.types("done", "a/drain.1", "--at", "20:10")
    over = ridge.task("a/drain.1").hold_done
    assert over is not None
    text = ridge.types("done", "a/drain.1", "--at", "20:05", refused=True)
    assert "lies before it was begun" in text
    text = ridge.types("done", "a/drain.1", refused=True)
    assert f"ridge-2/a/drain.1 holds until {ridge.clock(over)}" in text
    assert "--whole --at T if it is over" in text
    assert "begun Tue 11 Aug 20:05" in ridge.types("done", "a/drain.1", "--again", "--at", "20:05")
    assert ridge.task("a/drain.1").hold_done == over - 300
    assert "was not begun" in ridge.types("done", "a/pack.1", "--again", refused=True)


def test_work_before_what_it_follows_is_asked_about(ridge: Keeper) -> None:
    """Drained before it was cut: a slip of the finger, most likely; a keeper who says so is believed."""
    ridge.waits_until("2026-08-11T20:30").types("done", "a/cut.1", "--at", "20:00")
    text = ridge.types("done", "a/drain.1", "--at", "19:00", refused=True)
    assert "Tue 11 Aug 19:00 lies before this was done: Cut 20 pieces from lot a, Tue 11 Aug 20:00" in text
    assert "--yes if it was so all the same" in text
    assert ridge.told(ridge.task("a/drain.1")) != "2026-08-11 19:00"
    assert "begun Tue 11 Aug 19:00" in ridge.types("done", "a/drain.1", "--at", "19:00", "--yes")
    assert not [warning for warning in ridge.plan.warnings if warning.kind == "fault"]


def test_what_was_skipped_and_then_done_earlier_in_the_day_is_done(ridge: Keeper) -> None:
    """Skipped at eight; somebody else had done it at six, as the keeper hears at nine. The last word counts."""
    ridge.waits_until("2026-08-11T20:00").types("skip", "b/spin", "--because", "no time")
    ridge.waits_until("2026-08-11T21:00").types("done", "b/spin", "--at", "18:00")
    assert (ridge.task("b/spin").status, ridge.told(ridge.task("b/spin"))) == ("done", "2026-08-11 18:00")


def test_a_batch_is_named_without_its_number_where_one_is_open(tmp_path: Path, ridge: Keeper) -> None:
    """By its whole id; and where a rack for 12 pieces takes 20 in two batches, the second once the first is over."""
    ridge.waits_until("2026-08-11T20:00").types("done", "ridge-2/a/cut")
    assert ridge.task("a/cut.1").status == "done"
    text = (ridge.folder / "yard.yaml").read_text(encoding="utf-8")
    (tmp_path / "yard.yaml").write_text(text.replace("pieces: 300", "pieces: 12"), encoding="utf-8")
    ridge.types("init", "--from", str(tmp_path / "yard.yaml"))
    ridge.types("done", "a/drain.1", "--whole")
    assert "begun" in ridge.types("done", "ridge-2/a/drain")
    assert "ridge-2/a/drain.2" in ridge.view.happened.begun


def test_the_last_word_on_one_task_is_taken_back(ridge: Keeper) -> None:
    """Though others were told since."""
    ridge.waits_until("2026-08-11T20:00").types("done", "close-up", "--at", "18:00")
    ridge.types("done", "b/spin", "--at", "19:00")
    assert "Taken back: task done ridge-2/close-up, of Tue 11 Aug 18:00" in ridge.types("undo", "close-up")
    assert [ridge.task(name).status for name in ("close-up", "b/spin")] == ["planned", "done"]
    assert 'nothing is recorded of "close-up"' in ridge.types("undo", "close-up", refused=True)


def test_a_whole_harvest_is_not_taken_back_unasked(ridge: Keeper) -> None:
    """Where nobody can be asked nothing changes, and the command that does it is told; a correction of a harvest goes without asking."""
    text = ridge.types("undo", refused=True)
    assert "nothing was changed: this would take back harvest logged ridge-2, of Tue 11 Aug 11:00" in text
    assert "afterpull undo --yes" in text
    assert ridge.has("a/cut.1")
    ridge.logs("ridge-2").types("undo")
    assert ridge.has("a/cut.1")
    ridge.types("undo", "--yes")
    assert not ridge.has("a/cut.1")


def test_a_harvest_is_withdrawn_by_its_name_and_comes_back(ridge: Keeper) -> None:
    """Logged for the wrong yard; what was done of it stays recorded."""
    ridge.types("done", "close-up")
    assert 'no harvest "rigde-2" is logged' in ridge.types("log", "--withdraw", "rigde-2", refused=True)
    assert "Withdrawn: ridge-2. What was done of it stays recorded" in ridge.types("log", "--withdraw", "ridge-2")
    assert not ridge.has("a/cut.1")
    assert ridge.logs("ridge-2").task("close-up").status == "done"


def test_what_was_begun_and_is_not_asked_for_any_more_is_shown(ridge: Keeper) -> None:
    """Drying was begun, and a reading says that it is dry: the plan goes on, and what was begun is not lost from sight."""
    ridge.types("observe", "moisture", "19.4 %", "--of", "a")
    ridge.waits_until("2026-08-11T18:00").types("done", "a/dry-down")
    ridge.waits_until("2026-08-12T18:00").types("observe", "moisture", "17.0 %", "--of", "a")
    assert not ridge.has("a/dry-down")
    assert "ridge-2/a/dry-down" in section(ridge.types("agenda"), "RECORDED")
