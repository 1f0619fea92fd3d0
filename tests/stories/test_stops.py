"""What must not go on stops: foulbrood in one hive, a treated lot, honey that is too wet, a freezer that cannot kill; and one word lets it go on.

The yard is Kestrel Bank of the examples, its hives and days are invented.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.keeper import EXAMPLES, Keeper

THREE_HIVES = """\
harvest: vale-1 # invented
pulled: 2026-08-11T10:30
hives: [north, ridge, oak]
lots:
  - {id: a, kind: cut comb, frames: 5, frame: shallow, comb thickness: 32 mm, capped: 95 %, moisture: 17.4 %}
  - {id: b, kind: extracted, frames: 14, frame: medium, moisture: 17.4 %}
"""
OTHER_HIVES = """\
harvest: hill-1 # invented
pulled: 2026-08-12T10:30
hives: [elm, birch]
lots:
  - {id: b, kind: extracted, frames: 9, frame: medium, moisture: 17.4 %}
"""


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """Two harvests of hives of their own."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-12T11:00")
    for name, text in (("vale-1", THREE_HIVES), ("hill-1", OTHER_HIVES)):
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
        keeper.types("log", str(tmp_path / f"{name}.yaml"))
    return keeper


def statuses(keeper: Keeper, subject: str) -> dict[str, str]:
    """Card and status of each task of a lot or harvest."""
    return {task.id.removeprefix(f"{subject}/"): task.status for task in keeper.plan.tasks if task.id.startswith(f"{subject}/")}


def test_foulbrood_in_one_hive_stops_its_lots_and_one_word_lets_them_go_on(keeper: Keeper) -> None:
    """The keeper is told what to do first; nothing of the harvest has a time, nothing of it is overdue; "not confirmed" gives every time back."""
    before = statuses(keeper, "vale-1/b")
    said = keeper.types("observe", "foulbrood", "--of", "ridge")
    assert "move nothing" in said
    assert "bee inspector" in said
    assert "vale-1/a, vale-1/b" in said
    held = statuses(keeper, "vale-1/b")
    assert {held[card] for card in ("spin", "bottle", "give-back", "work-up-deadline")} == {"held back"}
    assert statuses(keeper, "hill-1/b")["spin"] in ("planned", "provisional")
    assert keeper.task("give-comb-back").status == "held back"
    assert "STOPPED" in keeper.types("agenda")
    stopped = {task.id for task in keeper.plan.tasks if task.status == "held back"}
    assert not stopped & {warning.task for warning in keeper.plan.warnings}
    keeper.types("observe", "foulbrood", "no", "--of", "ridge")
    assert statuses(keeper, "vale-1/b") == before


def test_what_went_through_the_same_extractor_since_is_stopped_too(keeper: Keeper) -> None:
    """A lot of clean hives, spun after the lot of the sick one; one that was spun before it is free."""
    keeper.waits_until("2026-08-12T19:00").types("done", "vale-1/b/spin")
    keeper.types("observe", "foulbrood", "--of", "ridge")
    assert "held back" not in statuses(keeper, "hill-1/b").values()
    keeper.waits_until("2026-08-12T20:30").types("done", "hill-1/b/spin")
    assert statuses(keeper, "hill-1/b")["bottle"] == "held back"


def test_what_hands_did_stays_done(keeper: Keeper) -> None:
    """A stop takes back nothing that was recorded."""
    keeper.waits_until("2026-08-12T19:00").types("done", "vale-1/b/spin")
    keeper.types("observe", "foulbrood", "--of", "ridge")
    assert statuses(keeper, "vale-1/b")["spin"] == "done"


def test_a_hive_that_no_harvest_names_is_refused(keeper: Keeper) -> None:
    """With the name that was meant."""
    assert '"ridge"' in keeper.types("observe", "foulbrood", "--of", "rigde", refused=True)


def test_a_lot_that_is_let_go_on_has_its_times_again_until_that_is_undone(keeper: Keeper, tmp_path: Path) -> None:
    """And where nothing stops a lot there is nothing to let go."""
    assert "nothing stops vale-1/b" in keeper.types("release", "vale-1/b", "--because", "why not", refused=True)
    (tmp_path / "vale-1.yaml").write_text(THREE_HIVES.replace("frames: 14, frame: medium,", "frames: 14, frame: medium, treated: yes,"), encoding="utf-8")
    keeper.types("log", str(tmp_path / "vale-1.yaml"))
    assert statuses(keeper, "vale-1/b")["spin"] == "held back"
    keeper.types("release", "vale-1/b", "--because", "the label allows supers, and so does local law")
    assert statuses(keeper, "vale-1/b")["spin"] in ("planned", "provisional")
    keeper.types("undo")
    assert statuses(keeper, "vale-1/b")["spin"] == "held back"


def test_a_live_larva_stops_the_batch_until_none_is_found(keeper: Keeper) -> None:
    """It is looked through and frozen again at once; no reason releases it, only the word that none is left; and that can be undone."""
    keeper.waits_until("2026-08-13T18:00").types("done", "vale-1/a/cut.1", "vale-1/a/drain.1", "--whole", "--yes")
    keeper.waits_until("2026-08-13T19:00").types("done", "vale-1/a/pack.1", "--yes")
    keeper.types("want", "4", "packages", "of", "vale-1/a", "by", "sat 5 sep 08:00")
    assert "sell none of it" in keeper.types("observe", "larvae", "--of", "vale-1/a")
    held = statuses(keeper, "vale-1/a")
    assert {held[card] for card in ("thaw.1", "label.1", "sell-by")} == {"held back"}
    assert "freeze.1" not in held
    assert held["open-and-look"] == held["freeze-again.1"] == "planned"
    assert keeper.task("a/open-and-look").finish <= keeper.task("a/freeze-again.1").start
    assert "observe larvae no" in keeper.types("release", "vale-1/a", "--because", "it was only one", refused=True)
    assert "no comb to be sold" in keeper.types("observe", "larvae", "--of", "hill-1/b", refused=True)
    keeper.types("observe", "larvae", "no")
    again = statuses(keeper, "vale-1/a")
    assert again["thaw.1"] == "planned"
    assert keeper.task("a/freeze-again.1").finish <= keeper.task("a/thaw.1").start
    keeper.types("undo")
    assert statuses(keeper, "vale-1/a")["thaw.1"] == "held back"


def test_comb_of_a_treated_hive_that_is_let_go_on_is_honey_only(keeper: Keeper, tmp_path: Path) -> None:
    """The word is taken for its honey; the comb stays stopped, says how it may go on, and a second word is refused."""
    (tmp_path / "vale-1.yaml").write_text(THREE_HIVES.replace("moisture: 17.4 %}", "moisture: 17.4 %, treated: yes}"), encoding="utf-8")
    keeper.types("log", str(tmp_path / "vale-1.yaml"))
    assert "As comb it goes on only where" in keeper.types("release", "vale-1/a", "--because", "the honey was tested")
    assert statuses(keeper, "vale-1/a")["cut.1"] == "held back"
    assert "never becomes cut comb" in keeper.types("agenda")
    assert "log the lot again as extracted" in keeper.types("release", "vale-1/a", "--because", "please", refused=True)


def test_a_program_reads_what_holds_a_task_back(keeper: Keeper, tmp_path: Path) -> None:
    """No times, no hands, no alerts; a stop is no breach."""
    harvest = tmp_path / "treated.yaml"
    harvest.write_text(THREE_HIVES.replace("moisture: 17.4 %}", "moisture: 17.4 %, treated: yes}"), encoding="utf-8")
    words = ("plan", str(harvest), "--yard", str(EXAMPLES / "kestrel_bank" / "yard.yaml"), "--as-of", "2026-08-11T10:30", "--json", "--strict")
    plan = json.loads(keeper.types(*words))
    held = [task for task in plan["tasks"] if task["status"] == "held back"]
    assert {task["rule"] for task in held} >= {"cut comb/cut", "extracted honey/spin", "cut comb/freeze"}
    assert {task["held_by"] for task in held} == {"treated"}
    assert all((task["start"], task["hold_done"], task["finish"], task["hands"], task["alerts"]) == (None, None, None, [], []) for task in held)


def test_comb_of_a_colony_that_died_goes_nowhere_until_the_cause_is_known(keeper: Keeper) -> None:
    """Found dead in February: nothing of its comb goes onto a hive, and the agenda says so until it is known that the colony starved."""
    keeper.waits_until("2027-02-10T11:00")
    said = keeper.types("observe", "died", "--of", "north")
    assert "It goes onto no other hive until the cause is known" in said
    assert "Close the hive against robbers" in said
    assert "vale-1/b: disease. north died" in " ".join(keeper.types("agenda").split())
    assert "the colony died, of what is not known yet" in keeper.types("record", "vale-1/b")
    assert "north died (starved)" in keeper.types("observe", "died", "--of", "north", "--cause", "starved")
    assert "north died" not in keeper.types("agenda")
    keeper.types("undo")
    assert keeper.view.died.keys() == {"north"}


def test_wet_frames_of_a_colony_that_died_stay_off_and_foulbrood_is_the_inspectors(keeper: Keeper) -> None:
    """Its frames would have gone back that evening; foulbrood as the cause is foulbrood suspected, with all that stops."""
    keeper.types("observe", "died", "--of", "north")
    assert {task.id: task.held_by for task in keeper.plan.tasks}["vale-1/b/give-back"] == "disease"
    assert "Stopped: " in keeper.types("observe", "died", "--of", "north", "--cause", "foulbrood")
    assert keeper.view.foulbrood.keys() == {"north"}
    assert {task.id: task.held_by for task in keeper.plan.tasks}["vale-1/b/spin"] == "foulbrood"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("died",), "died: which hive?"),
        (("died", "--of", "nort"), 'no harvest names the hive "nort"'),
        (("died", "--of", "north", "--cause", "starvd"), '"starvd" is not among the causes'),
        (("foulbrood", "--of", "north", "--cause", "starved"), "--cause is of a colony that died"),
        (("first", "frost", "--cause", "cold"), "--cause is of a colony that died"),
    ],
)
def test_what_cannot_be_said_of_a_dead_colony_is_refused(keeper: Keeper, words: tuple[str, ...], said: str) -> None:
    """With the hive or the cause that was meant."""
    assert said in keeper.types("observe", *words, refused=True)
