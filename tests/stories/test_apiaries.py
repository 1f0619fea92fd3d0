"""A keeper with two apiaries on two sides of a mountain, and one honey room between them. Brindle Fold is invented."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from icalendar import Calendar

from scheduler.application.publish import publish_plan, select
from scheduler.application.selection import PlanFilter
from scheduler.diagnostics import Fault
from scheduler.ledger.store import Ledger
from scheduler.outputs.plan_json import plan_json
from tests.keeper import Keeper

FELL = "Over Fell"


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """Two days before both pulls, which are logged."""
    return Keeper(tmp_path / "ledger.sqlite", "brindle_fold", "Europe/Vienna", "2026-08-13T17:00").logs("garden-1").logs("fell-1")


def test_what_is_to_do_at_one_apiary_is_asked_for_by_its_name_and_at_all_of_them_by_the_word(keeper: Keeper) -> None:
    """With when to leave; a slip of the pen is refused with the places there are."""
    there, everywhere = keeper.types("agenda", "--at", FELL, "--all"), keeper.types("agenda", "--at", "apiary", "--all")
    assert "fell-1/escape-board" in there
    assert "leave 17:30" in " ".join(there.split())
    assert "garden-1" not in there
    assert "fell-1/escape-board" in everywhere
    assert "garden-1/escape-board" in everywhere
    assert "ready-room" not in everywhere
    assert '"Over Fell"' in keeper.types("agenda", "--at", "Over Fall", refused=True)
    plan = keeper.plan
    here = PlanFilter(None, "apiary", (), keeper.view.yard.apiaries).of(plan)
    assert {task.place for task in here.tasks} == {"Garden", FELL}


def test_a_sitting_says_where_it_is_and_the_call_to_it_comes_when_it_is_time_to_leave(keeper: Keeper) -> None:
    """In the JSON, in the title, place and categories of the calendar, and in what is told: fifty minutes ahead of the first work there."""
    keeper.waits_until("2026-08-15T08:00")
    plan = keeper.plan
    sittings = plan_json(plan)["sittings"]
    assert {one["place"] for one in sittings} == {"house", "Garden", FELL}
    assert {one["place"] for one in sittings if "leave" in one} == {FELL}
    first = min((task for task in plan.tasks if task.place == FELL and task.alongside is None), key=lambda task: task.start)
    [told] = [one for one in first.alerts if one.at < first.start]
    assert first.start - told.at == 50 * 60
    with Ledger.open(keeper.ledger) as ledger:
        sent = publish_plan(ledger, keeper.now)
    for place, foreign in ((FELL, "Garden"), ("Garden", FELL)):
        events = Calendar.from_ical(sent.calendar(select(places=["apiary"]))).walk("VEVENT")
        here = [one for one in events if place in one["CATEGORIES"].cats]
        assert here
        assert all(str(one["LOCATION"]) == f"Brindle Fold, {place}" and foreign not in one["CATEGORIES"].cats for one in here if "sitting" in one["UID"])
    assert any(str(one["SUMMARY"]).startswith("Over Fell: ") for one in events)


def test_a_harvest_in_words_names_its_apiary_where_the_hives_do_not(keeper: Keeper, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two hives without names, over the fell."""
    monkeypatch.chdir(tmp_path)
    words = ("log", "--harvest", "late", "--pulled", "2026-08-13T10:00", "--lot", "extracted 14 medium")
    assert "in which apiary" in keeper.types(*words, refused=True)
    keeper.types(*words, "--apiary", FELL)
    assert {task.place for task in keeper.plan.tasks if task.id.startswith("late/") and task.rule.endswith("reduce entrances")} == {FELL}


def test_a_feed_shows_one_apiary_or_all_of_them(keeper: Keeper) -> None:
    """By its name its own, by the word both; the keeper's own feed holds them; another name is refused with those there are."""
    with Ledger.open(keeper.ledger) as ledger:
        sent = publish_plan(ledger, keeper.now)

    def found(**asked: list[str]) -> set[str]:
        return {str(one["UID"]) for one in Calendar.from_ical(sent.calendar(select(**asked))).walk("VEVENT")}  # type: ignore[arg-type]

    garden, fell, both = found(places=["Garden"]), found(places=[FELL]), found(places=["apiary"])
    assert garden
    assert fell
    assert both == garden | fell
    assert not garden & fell
    assert both < found(people=["keeper"]) == found()
    with pytest.raises(Fault, match='there is no place "Over Fall"'):
        sent.calendar(select(places=["Over Fall"]))


def test_each_apiary_is_treated_for_itself(keeper: Keeper) -> None:
    """Of one hive over the fell the keeper says that its treatment began: the garden's is still to come."""
    keeper.waits_until("2026-08-22T10:00")
    for name in ("garden-1", "fell-1"):
        keeper.types("pulled", name, "--at", "2026-08-15T09:00")
    keeper.types("observe", "treatment begins", "--of", "rowan")
    found = {task.id: task for task in keeper.plan.tasks if "/treatment" in task.id}
    assert [name for name in found if found[name].begun] == ["yard-2026-over-fell/treatment.1"]
    assert not found["yard-2026-garden/treatment"].begun


def test_a_harvest_of_two_apiaries_is_refused_and_says_how_it_is_split(keeper: Keeper, tmp_path: Path) -> None:
    """Each has its own dusk; nothing is written."""
    mixed = tmp_path / "mixed.yaml"
    mixed.write_text("harvest: mixed\npulled: 2026-08-13T09:00\nhives: [plum, rowan]\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n")
    said = keeper.types("log", str(mixed), refused=True)
    assert "mixed.yaml:3:" in said
    assert "harvest: mixed-garden, hives: [plum]; harvest: mixed-over-fell, hives: [rowan]" in " ".join(said.split())
    assert len(keeper.view.harvests) == 2


def test_a_frost_seen_over_the_fell_is_no_frost_in_the_garden(keeper: Keeper) -> None:
    """Its guards are fitted after it, those of the garden as before; each season is shown by itself, and the ledger keeps where it was seen."""
    for name in ("garden-1", "fell-1"):
        keeper.waits_until("2026-08-15T13:00").types("pulled", name)
    before = {task.id: task.start for task in keeper.plan.tasks if task.id.endswith("/mouse-guard")}
    keeper.waits_until("2026-09-09T12:00")
    assert keeper.types("observe", "first frost", "--on", "2026-09-08", "--of", FELL) == "first frost at Over Fell: seen on 2026-09-08\n"
    view = keeper.view
    seen = {name: view.seen_at(name).season.mark("first frost", date(2026, 8, 1)) for name in (None, "Garden", FELL)}
    assert seen == {None: (date(2026, 10, 14), False), "Garden": (date(2026, 10, 14), False), FELL: (date(2026, 9, 8), True)}
    assert before["yard-2026-garden/mouse-guard"] > before["yard-2026-over-fell/mouse-guard"]
    there, here = keeper.types("season", "--of", FELL), keeper.types("season", "--of", "Garden")
    assert "first frost      2026-09-08 seen or measured" in there
    assert "The season at Over Fell" in there
    assert "first frost      2026-10-14" in here
    assert "afterpull season --of 'Over Fell'" in keeper.types("season")
    assert '"Over Fell"' in keeper.types("observe", "first frost", "--of", "Over Fall", refused=True)
    keeper.types("observe", "last warm day", "--on", "2026-09-09")
    assert all(keeper.view.seen_at(name).season.mark("last warm day", date(2026, 8, 1)) == (date(2026, 9, 9), True) for name in ("Garden", FELL))


def test_a_table_of_one_apiary_counts_there(keeper: Keeper, tmp_path: Path) -> None:
    """The scale of a hive over the fell shows its own flow; the weather of the valley shows no frost where the yard file says that frost comes otherwise."""
    keeper.waits_until("2026-11-20T12:00")
    weather = tmp_path / "weather.csv"
    days = [date(2026, 4, 1) + timedelta(number) for number in range(220)]

    def rows(frost: date) -> list[str]:
        return [f"{day},{-2 if day >= frost else 5},15" for day in days]

    weather.write_text("\n".join(["date,lowest (°C),highest (°C)", *rows(date(2026, 10, 6))]) + "\n", encoding="utf-8")
    keeper.types("observe", "series", "weather", "--file", str(weather))
    found = {name: keeper.view.seen_at(name).season.mark("first frost", date(2026, 8, 1)) for name in ("Garden", FELL)}
    assert found == {"Garden": (date(2026, 10, 6), True), FELL: (date(2026, 9, 20), False)}
    weather.write_text("\n".join(["date,lowest (°C),highest (°C)", *rows(date(2026, 9, 12))]) + "\n", encoding="utf-8")
    keeper.types("observe", "series", "weather", "--file", str(weather), "--of", FELL)
    found = {name: keeper.view.seen_at(name).season.mark("first frost", date(2026, 8, 1)) for name in ("Garden", FELL)}
    assert found == {"Garden": (date(2026, 10, 6), True), FELL: (date(2026, 9, 12), True)}


def test_a_treatment_of_a_whole_apiary_is_one_word_and_of_that_one(keeper: Keeper) -> None:
    """Of its hives that harvests name, each by itself in the ledger; the garden is not under it."""
    for name in ("garden-1", "fell-1"):
        keeper.waits_until("2026-08-15T13:00").types("pulled", name)
    keeper.waits_until("2026-08-22T10:00").types("observe", "treatment begins", "--of", FELL)
    begun = {task.id: task.begun for task in keeper.plan.tasks if task.id.endswith("/treatment")}
    assert begun == {"yard-2026-garden/treatment": False, "yard-2026-over-fell/treatment": True}
    assert [one.hive for one in keeper.view.treatments] == ["rowan", "larch", "birch"]
    assert "done" in keeper.types("done", "mite-count", "--hive", "plum"), "of two counts the one of her apiary is meant"
    counted = keeper.types("done", "yard-2026-garden/mite-count", "--hive", "rowan", refused=True)
    assert '"rowan"' in counted


def test_a_yard_that_names_its_apiaries_in_the_middle_of_a_season_loses_nothing(keeper: Keeper, tmp_path: Path) -> None:
    """What was done of the whole yard is done of each apiary; a harvest that does not say where it was pulled is asked about, and goes on."""
    text = (keeper.folder / "yard.yaml").read_text(encoding="utf-8")
    before, _, rest = text.partition("apiaries:\n")
    plain = tmp_path / "plain.yaml"
    plain.write_text(before + "season:" + rest.partition("\nseason:")[2], encoding="utf-8")
    keeper.types("init", "--from", str(plain))
    unsaid = tmp_path / "unsaid.yaml"
    unsaid.write_text("harvest: unsaid\npulled: 2026-08-13T09:00\nhives: 2\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n", encoding="utf-8")
    for name in ("garden-1", "fell-1"):
        keeper.waits_until("2026-08-15T13:00").types("pulled", name)
    keeper.types("log", str(unsaid))
    keeper.waits_until("2026-08-16T12:00").types("done", "yard-2026/mite-count")
    keeper.types("init", "--from", str(keeper.folder / "yard.yaml"))
    plan = keeper.plan
    assert {task.id: task.status for task in plan.tasks if task.id.endswith("/mite-count")}.items() >= {
        ("yard-2026-garden/mite-count", "done"),
        ("yard-2026-over-fell/mite-count", "done"),
    }
    assert [dict(one.says.values)["harvest"] for one in plan.warnings if one.kind == "harvest of no apiary"] == ["unsaid"]
    assert any(task.id.startswith("unsaid/") and task.is_open for task in plan.tasks)
    assert "Write at: one of Garden, Over Fell" in " ".join(keeper.types("agenda").split())


def test_why_says_the_way(keeper: Keeper) -> None:
    """Of work there, and of what has to come from there before it is worked at home."""
    there, here = (" ".join(keeper.types("why", name).split()) for name in ("fell-1/a/give-back", "fell-1/a/spin"))
    assert "Over Fell is 50 min away" in there
    assert "Pulled 50 min away, at Over Fell" in here
