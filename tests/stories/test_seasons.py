"""Three seasons told as they happen: what is said at the bench, and what the plan makes of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.facts.fact import TaskBegun
from scheduler.ledger.store import Ledger
from scheduler.outputs.plan_json import plan_bytes
from scheduler.outputs.wording.sentence import METRIC, in_words, reader_of, title_of
from tests.keeper import Keeper, section

HOUR = 3600


@pytest.fixture
def ridge(tmp_path: Path) -> Keeper:
    """Kestrel Bank on the morning of the pull: comb to cut, honey to extract, dry comb."""
    return Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")


@pytest.fixture
def levee(tmp_path: Path) -> Keeper:
    """Pelican Bend in June, with beetle in the comb for cutting."""
    return Keeper(tmp_path / "ledger.sqlite", "pelican_bend", "America/Chicago", "2026-06-20T09:00").logs("levee-1")


@pytest.fixture
def creek(tmp_path: Path) -> Keeper:
    """Wattle Gully in April, which is autumn: one lot not measured yet, one above the yard's limit of 18 %."""
    return Keeper(tmp_path / "ledger.sqlite", "wattle_gully", "Australia/Hobart", "2026-04-04T11:00").logs("creek-2")


def test_a_drain_that_began_late_ends_late_and_packing_waits_for_it(ridge: Keeper) -> None:
    """Cut on the day after instead: the hold runs from the moment it began, not from the moment planned."""
    before = ridge.task("a/pack.1").start
    ridge.waits_until("2026-08-12T20:30")
    ridge.types("done", "a/cut.1", "--at", "20:00")
    assert "holds until" in ridge.types("done", "a/drain.1", "--at", "20:10")
    drain = ridge.task("a/drain.1")
    assert drain.holds_from == ridge.moment("2026-08-12T20:10")
    assert drain.hold_done is not None
    assert ridge.task("a/pack.1").start >= drain.hold_done > before


def test_what_was_done_early_lets_the_next_begin_early(ridge: Keeper) -> None:
    """Spun in the afternoon of a day off: straining need not wait for the evening."""
    before = ridge.task("b/strain").start
    ridge.waits_until("2026-08-11T17:31")
    ridge.types("done", "close-up", "b/spin", "--at", "15:00")
    assert ridge.task("b/spin").status == "done"
    assert ridge.told(ridge.task("b/spin")) == "2026-08-11 15:00"
    assert ridge.task("b/strain").start < before


def test_a_hold_that_is_ended_early_is_questioned(ridge: Keeper) -> None:
    """Six hours in the freezer kill no moth egg; the keeper is told, and believed."""
    ridge.types("done", "c/freeze-comb.1", "--at", "10:45")
    ridge.waits_until("2026-08-11T16:45")
    text = ridge.types("done", "c/freeze-comb.1", refused=True)
    assert "ridge-2/c/freeze-comb.1 holds until" in text
    assert "--whole --at T if it is over" in text
    assert "it may not have done its work" in ridge.types("done", "c/freeze-comb.1", "--whole")
    assert ridge.task("c/freeze-comb.1").status == "done"


def test_done_in_part_leaves_the_rest_to_do(ridge: Keeper) -> None:
    """Six of twenty pieces are on the rack; fourteen are left, and a fifteenth does not exist."""
    ridge.waits_until("2026-08-11T20:00")
    assert "6 done" in ridge.types("done", "a/drain", "--amount", "6")
    rest = ridge.task("a/drain.1")
    assert (rest.count, rest.left, rest.status) == (20.0, 14.0, "planned")
    assert "(14 of 20 left)" in title_of(rest)
    assert "14 of 20 are left" in ridge.types("done", "a/drain", "--amount", "15", refused=True)
    assert "holds until" in ridge.types("done", "a/drain", "--amount", "14")


def test_what_is_not_counted_is_not_done_in_part(ridge: Keeper) -> None:
    """Straining has no pieces."""
    assert "is not counted in pieces" in ridge.types("done", "b/strain", "--amount", "3", refused=True)


def test_a_skipped_task_holds_nothing_up(ridge: Keeper) -> None:
    """No wax is rendered this year; the task stays in sight as skipped, with the reason."""
    ridge.types("skip", "b/cappings", "--because", "no wax this year")
    skipped = ridge.task("b/cappings")
    assert skipped.status == "skipped"
    assert any("no wax this year" in in_words(reason.says, METRIC) for reason in skipped.reasons)
    assert ridge.task("b/render-wax").status == "planned"
    assert "no wax this year" in ridge.types("why", "b/cappings")


def test_a_task_put_off_starts_no_earlier_and_takes_its_followers_along(ridge: Keeper) -> None:
    """Spinning waits for Friday; so do straining, settling and bottling."""
    ridge.types("skip", "b/spin", "--until", "2026-08-14T18:00")
    spin = ridge.task("b/spin")
    assert ridge.told(spin) >= "2026-08-14 18:00"
    assert any(reason.label == "put off" for reason in spin.reasons)
    assert spin.finish <= ridge.task("b/strain").start <= ridge.task("b/settle").start <= ridge.task("b/bottle").start


def test_a_reading_above_the_limit_brings_the_drying_and_a_second_one_ends_it(ridge: Keeper) -> None:
    """19.4 % is dried before it is cut; 17.0 % a day later is not."""
    assert not ridge.has("a/dry-down")
    ridge.types("observe", "moisture", "19.4", "%", "--of", "a")
    dried = ridge.task("a/dry-down")
    assert dried.finish <= ridge.task("a/cut.1").start
    ridge.waits_until("2026-08-12T18:00").types("observe", "moisture", "17.0 %", "--of", "ridge-2/a")
    assert not ridge.has("a/dry-down")


def test_an_unknown_moisture_makes_the_cut_provisional_until_it_is_read(creek: Keeper) -> None:
    """The reading is asked for first; read fine, the date of the cut is firm."""
    reading = creek.task("a/moisture-reading")
    assert creek.task("a/cut.1").status == "provisional"
    assert reading.finish <= creek.task("a/cut.1").start
    creek.types("observe", "moisture", "17.2 %", "--of", "a")
    assert not creek.has("a/moisture-reading")
    assert creek.task("a/cut.1").status == "planned"


def test_an_unknown_moisture_that_reads_wet_leads_to_drying(creek: Keeper) -> None:
    """The same card, the other branch."""
    creek.types("observe", "moisture", "18.9 %", "--of", "a")
    assert creek.task("a/dry-down").finish <= creek.task("a/cut.1").start


def test_a_task_asked_for_by_name_that_fell_away_is_told_as_such(creek: Keeper) -> None:
    """Once the moisture is known nobody has to read it; that somebody did is recorded all the same."""
    creek.types("observe", "moisture", "17.2 %", "--of", "a")
    assert "is not in the plan now" in creek.types("why", "a/moisture-reading", refused=True)
    assert "done" in creek.types("done", "a/moisture-reading")
    assert creek.task("a/moisture-reading").status == "done"


def test_an_observation_makes_a_provisional_date_firm(ridge: Keeper) -> None:
    """The mouse guards hang on the first frost: a normal of the yard file, until frost is seen."""
    assert ridge.task("mouse-guard").status == "provisional"
    ridge.waits_until("2026-09-28T07:00").types("observe", "first", "frost")
    guard = ridge.task("mouse-guard")
    assert guard.status == "planned"
    assert any("first frost (28 September 2026, observed)" in in_words(reason.says, METRIC) for reason in guard.reasons)


def test_a_corrected_harvest_is_planned_anew_and_undo_brings_the_old_plan_back(ridge: Keeper, tmp_path: Path) -> None:
    """Nine frames were pulled, not five; then again it was five."""
    before = plan_bytes(ridge.plan)
    text = (ridge.folder / "ridge-2.yaml").read_text(encoding="utf-8")
    corrected = tmp_path / "ridge-2.yaml"
    corrected.write_text(text.replace("frames: 5", "frames: 9"), encoding="utf-8")
    ridge.types("log", str(corrected))
    assert ridge.task("a/cut.1").title == "Cut 36 pieces from lot a"
    assert "Taken back: harvest logged ridge-2" in ridge.types("undo")
    assert plan_bytes(ridge.plan) == before


def test_each_undo_restores_the_plan_before_it_byte_for_byte(ridge: Keeper) -> None:
    """Done, skipped, put off, read, seen, and all of it taken back."""
    plans = []
    told = [
        ("done", "close-up"),
        ("skip", "b/cappings", "--because", "no wax"),
        ("skip", "b/spin", "--until", "2026-08-13T18:00"),
        ("observe", "moisture", "18.9 %", "--of", "b"),
        ("observe", "robbing", "ends"),
    ]
    for words in told:
        plans.append(plan_bytes(ridge.plan))
        ridge.types(*words)
    for before in reversed(plans):
        assert plan_bytes(ridge.plan) != before
        ridge.types("undo")
        assert plan_bytes(ridge.plan) == before


def test_undo_takes_back_the_yard_last_and_then_says_that_nothing_is_left(ridge: Keeper) -> None:
    """Harvest, yard, nothing."""
    assert "afterpull undo --yes" in ridge.types("undo", refused=True)
    assert ridge.has("a/cut.1")
    assert "harvest logged" in ridge.types("undo", "--yes")
    assert "yard set" in ridge.types("undo", "--yes")
    assert "nothing to take back" in ridge.types("undo")
    assert "no yard is set yet" in ridge.types("agenda", refused=True)


def test_beetle_in_the_comb_shortens_the_time_to_cut_it(levee: Keeper) -> None:
    """36 h in a room this hot instead of the usual three days; when it is cut the deadline is kept."""
    limit = levee.task("comb/work-up-deadline")
    assert limit.due is not None
    assert limit.due - levee.moment("2026-06-20T08:15") <= 48 * HOUR
    levee.waits_until("2026-06-20T19:00").types("done", "comb/cut.1", "--at", "10:30")
    assert levee.task("comb/work-up-deadline").finish <= limit.due


def test_a_lot_that_was_cut_in_time_needs_no_further_word_and_is_never_late(levee: Keeper) -> None:
    """Its limit is done with the cutting, and neither warns nor rings when its hour comes; that of the lot not yet spun still does."""
    levee.waits_until("2026-06-20T19:00").types("done", "comb/cut.1", "--at", "10:30")
    levee.waits_until("2026-06-23T07:00")
    assert levee.task("comb/work-up-deadline").status == "done"
    assert not levee.task("comb/work-up-deadline").alerts
    late = {warning.task for warning in levee.plan.warnings if warning.kind == "due date missed"}
    assert "levee-1/comb/work-up-deadline" not in late
    assert "levee-1/liquid/work-up-deadline" in late
    assert "Cut, spin or freeze lot liquid: by" in " ".join(levee.types("agenda").split())


def test_a_freezer_that_turns_out_too_warm_kills_nothing_and_its_work_goes_to_the_other(levee: Keeper) -> None:
    """40 °F is a refrigerator; what is read counts, not what the yard file says."""
    levee.types("observe", "freezer", "temperature", "40", "F", "--of", "freezer")
    assert all(resource != "freezer" for task in levee.plan.tasks if task.rule.endswith("/freeze") for resource, _ in task.occupies)


def test_treatment_waits_for_the_wet_frames_whatever_becomes_of_them(levee: Keeper) -> None:
    """Taken off a week late, the treatment moves with them."""
    before = levee.task("treatment").start
    levee.types("skip", "liquid/take-off", "--until", "2026-07-14T05:00")
    assert levee.task("treatment").start >= levee.task("liquid/take-off").finish > before


def test_an_hour_that_comes_twice_does_not_shorten_a_hold(creek: Keeper) -> None:
    """Clocks in Hobart go back at 03:00 on 5 April 2026: a drain begun at 20:00 is over as many hours later as it says, not as the clock shows."""
    creek.types("observe", "moisture", "17.2 %", "--of", "a")
    creek.waits_until("2026-04-04T20:00").types("done", "a/drain.1")
    drain = creek.task("a/drain.1")
    assert drain.hold_done is not None
    hours = (drain.hold_done - creek.now) / HOUR
    assert drain.holds_from == creek.now
    [reason] = [in_words(reason.says, METRIC) for reason in drain.reasons if reason.says.kind == "hold set by"]
    assert reason.startswith(f"holds {int(hours // 24)} d" if hours >= 48 else f"holds {int(hours)} h")


def test_the_agenda_says_what_moved_and_why_and_says_it_once(ridge: Keeper) -> None:
    """Bottling moves because spinning was put off."""
    ridge.types("agenda")
    ridge.types("skip", "b/spin", "--until", "2026-08-14T18:00")
    moved = section(ridge.types("agenda"), "MOVED")
    assert "ridge-2/b/spin:" in moved
    assert "more follow from these" in moved
    assert "MOVED" not in ridge.types("agenda")


def test_overdue_work_is_told_in_brief_with_what_to_say(ridge: Keeper) -> None:
    """After a month of silence a few lines, not a page, ask what was done."""
    ridge.types("agenda")
    text = ridge.waits_until("2026-09-12T09:00").types("agenda")
    overdue = section(text, "OVERDUE")
    assert "afterpull done ridge-2/" in overdue
    assert overdue.count(" - ") <= 4
    assert "more: afterpull agenda --all" in overdue
    assert len(section(text, "WARNINGS").split(" ! ")) <= 4


@pytest.mark.parametrize("command", [["agenda"], ["agenda", "--all"], ["why", "a/freeze.1"], ["season"]])
def test_what_is_told_fits_80_columns(ridge: Keeper, command: list[str]) -> None:
    """On a small terminal."""
    ridge.types("agenda")
    text = ridge.waits_until("2026-08-14T09:00").types(*command)
    assert max(map(len, text.splitlines())) <= 80


def test_the_agenda_shows_what_holds_and_until_when(ridge: Keeper) -> None:
    """Nobody is needed until then."""
    ridge.waits_until("2026-08-11T20:00").types("done", "a/drain.1")
    assert "[ridge-2/a/drain.1]" in section(ridge.types("agenda"), "WAITING")


def test_a_task_before_what_was_done_is_asked_after(ridge: Keeper) -> None:
    """Who packs has cut."""
    ridge.waits_until("2026-08-12T19:00")
    assert "Still open before it: ridge-2/a/drain.1" in ridge.types("done", "a/pack.1")


def test_a_harvest_of_two_summers_ago_is_history_and_is_not_planned(ridge: Keeper) -> None:
    """It stays in the ledger; no card reaches that far."""
    assert ridge.waits_until("2027-10-01T09:00").view.harvests
    assert not ridge.waits_until("2028-03-01T09:00").view.harvests
    assert "Nothing is planned" in ridge.types("agenda")


def test_a_hold_that_runs_stays_where_it_began_and_is_told_where_hands_end_it_too_late(ridge: Keeper) -> None:
    """Drained since Tuesday with no hands till Saturday: nothing moves its beginning, and the plan says by how much its wait for hands is too long."""
    ridge.waits_until("2026-08-11T20:15").types("done", "a/drain.1")
    begun = ridge.task("a/drain.1").holds_from
    alone = ridge.ledger.parent / "yard.yaml"
    yard = (ridge.folder / "yard.yaml").read_text(encoding="utf-8")
    alone.write_text("\n".join('hands: {sat: "08:00-12:00"}' if line.startswith("hands:") else line for line in yard.splitlines()), encoding="utf-8")
    ridge.types("init", "--from", str(alone))
    drain = ridge.task("a/drain.1")
    assert drain.holds_from == begun == ridge.moment("2026-08-11T20:15")
    assert drain.closing[0][0] == ridge.moment("2026-08-15T08:00")
    told = next(in_words(one.says, reader_of(ridge.plan)) for one in ridge.plan.warnings if one.kind == "held too long" and one.task == drain.id)
    assert "it may wait 12 h for hands once its hold is over" in told


def test_what_is_told_of_a_task_is_not_told_of_the_ones_that_repeat_it(ridge: Keeper) -> None:
    """Feeding was begun: the second time comes days later and takes hands. Putting off the first is no reason of the second, though it follows."""
    with Ledger.open(ridge.ledger) as ledger:
        ledger.append([TaskBegun(occurred_at=ridge.now, task="yard-2026/feed-after-treatment")], ridge.now)
    first, second = ridge.task("feed-after-treatment"), ridge.task("feed-after-treatment.2")
    assert first.holds_from == ridge.now
    assert second.start >= ridge.now + 4 * 86400
    assert second.hands
    ridge.types("undo")
    ridge.types("skip", "feed-after-treatment", "--until", "2026-08-25T18:00")
    assert "put off" in [reason.label for reason in ridge.task("feed-after-treatment").reasons]
    assert "put off" not in [reason.label for reason in ridge.task("feed-after-treatment.2").reasons]
    assert ridge.told(ridge.task("feed-after-treatment.2")) > "2026-08-28"
