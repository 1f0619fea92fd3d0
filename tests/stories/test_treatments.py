"""Mites are treated, hive by hive: what is said at the hive, and what the plan makes of it. Days and actives are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.outputs.wording.sentence import title_of
from tests.keeper import Keeper


@pytest.fixture
def ridge(tmp_path: Path) -> Keeper:
    """Kestrel Bank on the morning of the pull from the hives north and ridge; which treatment is used this year was not said."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00")
    unchosen = tmp_path / "yard.yaml"
    unchosen.write_text((keeper.folder / "yard.yaml").read_text(encoding="utf-8").replace("treatment: formic acid", ""), encoding="utf-8")
    keeper.types("init", "--from", str(unchosen))
    return keeper.logs("ridge-2")


def status(keeper: Keeper, task: str) -> str:
    """What becomes of a task, by its whole id."""
    return next(one.status for one in keeper.plan.tasks if one.id == task)


def test_the_choice_is_asked_once_and_said_as_it_begins(ridge: Keeper) -> None:
    """Until then there is a date by which; with the active ingredient its length is known (formic acid 7 days, N302)."""
    assert "How do you treat mites" in ridge.types("agenda")
    assert ridge.has("choose-a-treatment")
    ridge.waits_until("2026-08-20T19:00")
    assert "with formic acid" in ridge.types("observe", "treatment", "begins", "--of", "all", "--with", "formic acid")
    assert "How do you treat mites" not in ridge.types("agenda")
    treatment = ridge.task("treatment")
    assert treatment.hold_done == ridge.moment("2026-08-27T19:00")
    assert not ridge.has("choose-a-treatment")


def test_part_of_the_hives_leaves_the_rest_to_do(ridge: Keeper) -> None:
    """North is begun and ended by itself; the task stays open for ridge, and keeps its id."""
    ridge.waits_until("2026-08-20T19:00").types("observe", "treatment", "begins", "--of", "north", "--with", "amitraz")
    first, rest = ridge.task("treatment.1"), ridge.task("treatment")
    assert title_of(first).endswith(": north")
    assert first.hold_done == ridge.moment("2026-10-01T19:00")  # 42 days, common practice
    assert title_of(rest).endswith(": ridge")
    assert rest.hands[0][1] - rest.hands[0][0] == 600  # ten minutes a hive, assumed
    ridge.waits_until("2026-08-22T19:00").types("done", "treatment", "--hive", "ridge")
    assert ridge.task("treatment").hold_done == ridge.moment("2026-10-03T19:00")
    ridge.waits_until("2026-10-01T19:30").types("done", "treatment", "--hive", "north")
    assert ridge.task("treatment.1").status == "done"
    assert ridge.task("treatment").is_open
    ridge.types("undo")
    assert ridge.task("treatment.1").is_open


def test_one_hive_may_end_what_was_begun_of_all(ridge: Keeper) -> None:
    """Begun of every hive on one evening; north comes out first."""
    ridge.waits_until("2026-08-20T19:00").types("observe", "treatment", "begins", "--of", "all", "--with", "formic acid")
    ridge.waits_until("2026-08-26T19:00").types("observe", "treatment", "ends", "--of", "north")
    assert ridge.task("treatment.1").status == "done"
    assert title_of(ridge.task("treatment")).endswith(": ridge")
    ridge.waits_until("2026-08-28T19:00").types("observe", "treatment", "ends", "--of", "all")
    assert [task.status for task in ridge.plan.tasks if "/treatment" in task.id] == ["done", "done"]


def test_what_cannot_be_is_refused_with_what_to_write(ridge: Keeper) -> None:
    """A hive that no harvest names, an active ingredient that is in no table, an end of what never began, a card that is no treatment."""
    begins = ("observe", "treatment", "begins")
    assert "are of a treatment" in ridge.types("observe", "first frost", "--batch", "K-071", refused=True)
    assert "are said where a treatment begins" in ridge.types("observe", "treatment", "ends", "--of", "all", "--batch", "K-071", refused=True)
    assert "at least 1 character" in ridge.types(*begins, "--of", "all", "--product", "", refused=True)
    assert "--of all or --of north or --of ridge" in ridge.types(*begins, refused=True)
    assert '"north"' in ridge.types(*begins, "--of", "nroth", refused=True)
    assert '"thymol"' in ridge.types(*begins, "--of", "all", "--with", "tymol", refused=True)
    assert "was begun" in ridge.types("observe", "treatment", "ends", "--of", "north", refused=True)
    by_hive = ridge.types("done", "close-up", "--hive", "north", refused=True)
    assert "treatment or " in by_hive
    assert by_hive.endswith(" --hive north\n")
    ridge.types(*begins, "--of", "north")
    assert "already" in ridge.types(*begins, "--of", "north", refused=True)


def test_wet_frames_do_not_go_onto_a_hive_under_treatment(ridge: Keeper) -> None:
    """Strips are in before the frames were spun: they are frozen wet instead, and the plan says why."""
    assert ridge.has("b/give-back")
    ridge.types("observe", "treatment", "begins", "--of", "north", "--with", "amitraz")
    assert not ridge.has("b/give-back")
    assert "under a treatment since" in ridge.types("why", "b/keep-wet")
    ridge.types("undo")
    assert ridge.has("b/give-back")


def test_honey_pulled_under_a_treatment_is_written_then_asked_about(ridge: Keeper) -> None:
    """Logged like any harvest; its lots are stopped until the keeper says what the label allows."""
    ridge.types("observe", "treatment", "begins", "--of", "all", "--with", "amitraz")
    again = ridge.waits_until("2026-08-22T12:00").types("log", str(ridge.folder / "meadow-1.yaml"))
    assert "Logged meadow-1" in again
    assert "hedge was under a treatment with amitraz or within its wait (since Tue 11 Aug 11:00). Its lots are stopped." in " ".join(again.split())
    assert status(ridge, "meadow-1/b/spin") == "held back"
    assert status(ridge, "ridge-2/b/spin") == "planned"  # pulled half an hour before the strips went in
    ridge.types("release", "meadow-1/b", "--because", "the label allows supers, and so does local law")
    assert status(ridge, "meadow-1/b/spin") == "provisional"  # it is over the limit, and dried first


def test_where_hives_are_a_number_a_treatment_counts_for_the_apiary(ridge: Keeper, tmp_path: Path) -> None:
    """`hives: 3` names none: only all of them can be treated, and the plan says so."""
    text = (ridge.folder / "meadow-1.yaml").read_text(encoding="utf-8")
    counted = tmp_path / "meadow-1.yaml"
    counted.write_text(text.replace("hives: [meadow east, meadow west, hedge]", "hives: 3"), encoding="utf-8")
    ridge.waits_until("2026-08-22T12:00").types("log", str(counted))
    ridge.types("observe", "treatment", "begins", "--of", "all", "--with", "amitraz")
    assert "hives" in [reason.label for reason in ridge.task("treatment").reasons]
