"""What would keep a limit that is missed, judged by the whole planner: each kind of change, the smallest that does, and that it holds. All invented."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

import pytest

from scheduler.application.ledger_view import LedgerView
from scheduler.application.plan_files import problem_of
from scheduler.facts.fact import HarvestLogged, YardSet
from scheduler.facts.hours import joined
from scheduler.facts.yard import Yard, read_yard
from scheduler.local_time import HOUR
from scheduler.outputs.wording.sentence import in_words
from scheduler.planning import cures
from scheduler.planning.plan import Plan
from scheduler.planning.planner import Planning, plan
from scheduler.planning.problem import Problem
from scheduler.quantities import Quantity, Statement
from scheduler.rules.load import load
from tests.chance import random_of, times
from tests.planning.cards import KEEPER, at, planned
from tests.planning.followed import Follower, random_yard
from tests.planning.followed import Yard as Texts
from tests.planning.whole import harvest, yard, yard_text

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LOT = "  - {id: a, kind: cut comb, frames: 4, frame: shallow, comb thickness: 32 mm, pieces: 40, moisture: 17 %}\n"
WORK = "title: Work, for: cut comb, loss: crop, why: x, hands: "


def offered(found: Plan) -> dict[str, list[str]]:
    """What is offered for each late task, in words; what is said of it where nothing is."""
    return {warning.task or "": [in_words(one, KEEPER) for one in _changes(warning.says)] for warning in found.warnings if warning.kind == "due date missed"}


def _changes(says: Statement) -> tuple[Statement, ...]:
    cure = says.get("cure")
    return tuple(cure.get("changes")) if cure.kind == "cured by" else (cure,)


def test_minutes_before_the_moment_that_counts_are_asked_for_and_no_more_than_are_needed() -> None:
    """Four and a half hours of cutting by Wednesday noon do not fit Tuesday's four: half an hour more, before noon, will do."""
    found = offered(planned(f"cut: {{{WORK}270 min, due: pulled + 1530 min}}", LOT))
    assert found["w/a/cut"][0].endswith("free before Wed 12 Aug 12:00")
    minutes = found["w/a/cut"][0].partition(" free")[0]
    assert minutes in ("1 h 10 min", "70 min", "2 h 15 min")


def test_nobody_is_asked_for_time_in_the_night() -> None:
    """What has to be over at three is done by ten the evening before."""
    found = offered(planned(f"cut: {{{WORK}5 h, due: pulled + 2430 min}}", LOT, place=yard(evening="17:30-19:00")))
    assert all(" 03:00" not in one for one in found["w/a/cut"])
    assert any("before Wed 12 Aug 22:00" in one or "Wed 12 Aug kept free" in one for one in found["w/a/cut"])


def test_of_more_room_the_least_that_will_do_is_offered() -> None:
    """Two lots of 60 L in a freezer of 90 L want 30 L more; of the shares that are tried 27 L is too little and 45 L the next."""
    cards = (
        "freeze: {title: F, for: cut comb, loss: crop, why: x, hands: {before: 1 min, hours: any}, hold: 24 h, occupies: {freezer: 60 L}, due: pulled + 25 h}"
    )
    lots = LOT + LOT.replace("id: a", "id: b")
    found = offered(planned(cards, lots, place=yard(space=90)))
    assert found == {"w/b/freeze": ["45 L more room in the freezer"]}


def test_a_rack_grows_by_whole_pieces_and_its_batches_with_it() -> None:
    """Forty pieces drain in batches of a rack of 12: with room for all of them one batch is in time."""
    cards = """\
    drain:
      {title: Drain, for: cut comb, loss: crop, why: x, hands: {before: 1 min, hours: any}, hold: 24 h, batches: {of: lot.pieces, fits: drain rack},
       occupies: {drain rack: batch.count}, due: pulled + 25 h}
    """
    found = offered(planned(cards, LOT, place=yard(rack=12)))
    assert any(re.fullmatch(r"\d+ pieces more room in the drain rack", one) for changes in found.values() for one in changes)
    more = next(int(one.split()[0]) for changes in found.values() for one in changes if "drain rack" in one)
    assert offered(planned(cards, LOT, place=yard(rack=12 + more))) == {}


SLOW = "freeze: {title: F, for: cut comb, loss: crop, why: x, hands: {before: 1 min, hours: any}, hold: {estimate: %s}, occupies: {freezer: 60 L}, %s}"
BY_COLD = "freezer.temperature > -19.0 ? param.slow : freezer.temperature > -21.0 ? param.quicker : param.quick"
HOURS = """parameters:
  slow: {value: 60 h, basis: assumed, checked: 2026-11-26}
  quicker: {value: 50 h, basis: assumed, checked: 2026-11-26}
  quick: {value: 40 h, basis: assumed, checked: 2026-11-26}
"""


@pytest.mark.parametrize(("due", "setting"), [("148 h", None), ("128 h", "-20 °C"), ("108 h", "-23 °C"), ("100 h", None)])
def test_a_colder_freezer_is_offered_where_it_was_tried_and_no_colder_than_it_takes(due: str, setting: str | None) -> None:
    """Two loads from the next day on, each of 60 h at -18 °C, 50 h at -20 °C and 40 h at -23 °C, one after the other."""
    lots = LOT + LOT.replace("id: a", "id: b")
    cards = SLOW % (f'"{BY_COLD}"', f"earliest: pulled + 25 h, due: pulled + {due}")
    found = [one for changes in offered(planned(cards, lots, place=yard(space=90), more=HOURS)).values() for one in changes if "turned down" in one]
    assert found == ([f"the freezer turned down to {setting} a day ahead, and read"] if setting else [])


def test_no_freezer_is_turned_down_for_a_load_that_goes_in_before_it_is_colder() -> None:
    """The first load goes in tonight: a day from now the freezer is cold, and by then it is too late."""
    lots = LOT + LOT.replace("id: a", "id: b")
    found = offered(planned(SLOW % (f'"{BY_COLD}"', "due: pulled + 98 h"), lots, place=yard(space=90), more=HOURS))
    assert found
    assert not any("turned down" in one for changes in found.values() for one in changes)


def test_frames_are_kept_whole_where_that_is_what_helps() -> None:
    """Work by the frame that does not fit the only evening before its limit fits it with fewer frames."""
    cards = f"cut: {{{WORK}param.each * lot.frames, due: pulled + 12 h}}"
    found = offered(planned(cards, LOT, more="parameters:\n  each: {value: 90 min, basis: assumed, checked: 2026-11-25}\n"))
    assert any(re.fullmatch(r"2 frames of w/a kept whole.*", one) for one in found["w/a/cut"])


@pytest.mark.parametrize(
    ("most", "told"), [(3, "None of the changes tried so far would be enough; not all could be tried."), (4, "None of the changes tried would be enough.")]
)
def test_a_limit_that_nothing_keeps_says_so_and_only_then(most: int, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A hold of three days that is due in two: no hours, no room and no fewer frames make it shorter. Four were tried: three days, and frames kept whole."""
    monkeypatch.setattr(cures, "MOST_FULL", most)
    cards = "hold: {title: Hold, for: cut comb, loss: crop, why: x, hands: {before: 1 min, hours: any}, hold: 72 h, due: pulled + 48 h}"
    assert offered(planned(cards, LOT)) == {"w/a/hold": [told]}


@pytest.mark.parametrize("due", ["2 h", "24 h"])
def test_none_is_said_only_where_enough_was_planned_in_full(due: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With no planning left nothing is offered and nothing is ruled out: in two hours a glance finds no cure, in a day one of every kind."""
    monkeypatch.setattr(cures, "MOST_FULL", 0)
    monkeypatch.setattr(cures, "FEWEST", 0)
    each = "parameters:\n  each: {value: 90 min, basis: assumed, checked: 2026-11-25}\n"
    found = offered(planned(f"cut: {{{WORK}param.each * lot.frames, due: pulled + {due}}}", LOT, more=each))
    assert found == {"w/a/cut": ["None of the changes tried so far would be enough; not all could be tried."]}


def test_a_change_that_a_glance_needs_not_is_planned_in_full_before_it_is_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    """In a tight yard three lots wait for the freezer: five minutes more are no cure, though a glance at the yard finds one of them in time; room is."""
    keeper = Follower(tight(Random("2 11")))
    while keeper.coming:
        keeper.log()
    keeper.plan()
    told = LedgerView(keeper.recorded, keeper.now, keeper.text).plan_with_cures
    changes = {change.kind for warning in told.warnings if warning.kind == "due date missed" for change in _changes(warning.says)}
    assert "more room" in changes
    assert "time kept free" not in changes


def test_what_keeps_other_work_from_the_hands_is_tried_before_nothing_is_said_to_help(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four hours of cutting that food safety hangs on leave an evening no half hour for the boxes; where nothing of their own helps, less comb does."""
    monkeypatch.setattr("scheduler.planning.cures._Search._kinds", lambda *_: iter(()))
    cards = (
        "cut: {title: Cut, for: cut comb, loss: food safety, why: x, hands: param.each * lot.frames, due: pulled + 12 h}\n"
        "cover: {title: Cover, for: harvest, loss: crop, why: x, hands: 30 min, due: pulled + 12 h}"
    )
    lots = LOT + LOT.replace("id: a", "id: b")
    found = offered(planned(cards, lots, more="parameters:\n  each: {value: 30 min, basis: assumed, checked: 2026-11-28}\n"))
    [(task, changes)] = found.items()
    assert task == "w/cover"
    assert re.fullmatch(r"[12] frames of w/[ab] kept whole.*", changes[0])


def test_the_keeper_steps_in_for_somebody_who_would_come_too_late() -> None:
    """In an example Ash may pack, and comes on Wednesdays: the keeper packs, so that comb is frozen in time; labels wait for Ash."""
    found = plan(problem_of((EXAMPLES / "wattle_gully" / "gully-1.yaml",), None, (), "2026-02-21T09:30"))
    whose = {task.id: task.person for task in found.tasks}
    assert (whose["gully-1/a/pack.1"], whose["gully-1/b/label-jars"]) == (None, "Ash")
    assert offered(found) == {}


@pytest.mark.parametrize(("name", "as_of"), [("gully-1", "2026-02-21T09:30"), ("creek-2", "2026-04-04T10:00")])
def test_a_plan_that_is_late_whatever_the_order_is_not_searched_where_the_keeper_keeps_it(name: str, as_of: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ash comes on Wednesdays, and that is too late in every order: the keeper's plan is the same as after a search for a better one of Ash's."""
    problem = problem_of((EXAMPLES / "wattle_gully" / f"{name}.yaml",), None, (), as_of)
    efforts = []
    scheduled = Planning._scheduled
    monkeypatch.setattr(Planning, "_scheduled", lambda self, drafts, effort=1.0: efforts.append(effort) or scheduled(self, drafts, effort))
    found = plan(problem)
    assert max(efforts) < 1
    monkeypatch.setattr("scheduler.planning.planner.late_whatever_the_order", lambda *_: False)
    assert plan(problem) == found
    assert max(efforts) == 1


def test_what_is_somebodys_alone_waits_for_them_and_a_cure_says_so() -> None:
    """The same where only Ash packs: late, and in time if the keeper may do it too, or if Ash comes on Tuesday."""
    problem = problem_of((EXAMPLES / "wattle_gully" / "gully-1.yaml",), None, (), "2026-02-21T09:30")
    people = problem.yard.people
    ash = people["Ash"].model_copy(update={"only": ("pack",)})
    found = plan(problem._replace(yard=problem.yard.model_copy(update={"people": {**people, "Ash": ash}})))
    assert next(task.person for task in found.tasks if task.id == "gully-1/a/pack.1") == "Ash"
    cures = offered(found)["gully-1/a/freeze.1"]
    assert '"pack" done by yourself, not only by Ash' in cures


@pytest.mark.slow
def test_twelve_harvests_in_one_free_hour_a_week_are_answered_with_few_plannings(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hundreds of tasks, most of them late: each change is planned from the beginning, so hardly any are tried; every limit has an answer."""
    place = read_yard(yard_text().replace('{mon-fri: "17:30-21:30", sat-sun: "08:00-20:00"}', '{sat: "09:00-10:00"}').encode(), "yard.yaml")
    kinds: list[dict[str, object]] = [{"kind": kind, "frames": 8, "moisture": 17.4, "imperfect": 0} for kind in ("cut comb", "extracted")]
    pulls = tuple(harvest(place, f"pull-{number}", f"2026-08-{10 + number % 5}T10:{number:02}", kinds) for number in range(12))
    plannings = []
    planned_once = Planning.plan
    monkeypatch.setattr(Planning, "plan", lambda self: plannings.append(self) or planned_once(self))
    found = plan(Problem(place, load(place.rules), pulls, at("15 08:00"), place.season))
    assert 2 <= len(plannings) <= 6
    late = [warning for warning in found.warnings if warning.kind == "due date missed"]
    assert len(late) > 50
    assert all(warning.says.get("cure") is not None for warning in late)


@pytest.mark.slow
def test_what_cures_may_take_is_counted_in_schedules(monkeypatch: pytest.MonkeyPatch) -> None:
    """In a tight yard whose loads have to be kept apart in the freezer each planning makes two schedules or more; no more are made for it."""
    keeper = Follower(tight(Random("401 180")))
    while keeper.coming:
        keeper.log()
    problem, plannings = LedgerView(keeper.recorded, keeper.now, keeper.text).problem, []
    planned_once = Planning.plan
    monkeypatch.setattr(Planning, "plan", lambda self: plannings.append(self) or planned_once(self))
    assert any(warning.says.get("cure").kind == "cured by" for warning in plan(problem).warnings if warning.kind == "due date missed")
    _, *tried = plannings
    made = [planning.schedules for planning in tried]
    assert max(made) > 1
    assert sum(made) <= cures.MOST_FULL + cures.MOST_GLANCES + 3 * max(made)  # the last of each kind, and the one a minute later, may pass the bound


def test_spans_of_a_day_that_meet_are_one() -> None:
    """Also where one lies within another."""
    spans = ((time(17, 30), time(21, 30)), (time(16), time(17, 30)), (time(18), time(19)))
    assert [(f"{a:%H:%M}", f"{b:%H:%M}") for a, b in joined(spans)] == [("16:00", "21:30")]


def applied(texts: Texts, place: Yard, change: Statement) -> Texts:
    """The files of a yard after a person did what is offered."""
    if change.kind == "more room":
        more, key = change.get("more"), "space" if change.get("resource") == "freezer" else "pieces"
        amount = more.value * 1000 if isinstance(more, Quantity) else more.get("count")
        unit = " L" if key == "space" else ""
        text = re.sub(rf"{key}: (\d+){unit}", lambda was: f"{key}: {round(int(was[1]) + amount)}{unit}", texts.yard, count=1)
        assert text != texts.yard
        return Texts(texts.name, text, texts.harvests)
    if change.kind == "frames kept whole":
        name, _, lot = str(change.get("lot")).partition("/")
        fewer = lambda was: f"id: {lot}, kind: cut comb, frames: {int(was[1]) - round(float(change.get('count')))}"  # noqa: E731
        harvests = tuple((one, re.sub(rf"id: {lot}, kind: cut comb, frames: (\d+)", fewer, text) if one == name else text) for one, text in texts.harvests)
        return Texts(texts.name, texts.yard, harvests)
    if change.kind == "freezer turned down":
        text = re.sub(r"freezer: \{temperature: -?\d+ °C", f"freezer: {{temperature: {round(change.get('temperature').value)} °C", texts.yard)
        assert text != texts.yard
        return Texts(texts.name, text, texts.harvests)
    zone = ZoneInfo(place.place.timezone)
    if change.kind == "day kept free":
        day, spans = change.get("day"), "07:00-22:00"
    else:
        until = datetime.fromtimestamp(change.get("until").value, zone)
        opens = datetime.fromtimestamp(change.get("until").value - round(change.get("minutes").value), zone)
        day = opens.date()
        own = joined((*place.hours_of(None).spans(day), (opens.time(), until.time())))
        spans = ", ".join(f"{a:%H:%M}-{b:%H:%M}" for a, b in own)
    assert isinstance(day, date)
    return Texts(texts.name, texts.yard.replace("hands: {", f'hands: {{"{day}": "{spans}", ', 1), texts.harvests)


@pytest.mark.parametrize("number", range(times(100)))
def test_every_cure_that_is_offered_holds_in_the_next_agenda(number: int) -> None:
    """Each is written into the yard file, or the harvest, and recorded a minute later; the plan in force is the one that offered it."""
    random = random_of(f"cures {number}")
    texts = tight(random)
    keeper = Follower(texts)
    while keeper.coming:
        keeper.log()
    keeper.plan()
    found = LedgerView(keeper.recorded, keeper.now, keeper.text).plan_with_cures
    place = read_yard(texts.yard.encode(), "yard.yaml")
    for warning in found.warnings:
        if warning.kind not in ("due date missed", "deadline missed") or warning.says.get("cure").kind != "cured by":
            continue
        for change in _changes(warning.says):
            after = applied(texts, place, change)
            then = _next_plan(keeper, after, texts)
            [was] = [task for task in found.tasks if task.id == warning.task]
            own = [task for task in then.tasks if task.id == was.id] or [
                task for task in then.tasks if (task.rule, task.harvest, task.lot) == (was.rule, was.harvest, was.lot)
            ]
            late = [task.id for task in own if not task.has_time or (task.due is not None and task.finish > task.due)]
            assert late == [], (in_words(change, KEEPER), warning.task)


def tight(random: Random) -> Texts:
    """A random yard with little room and short evenings."""
    texts = random_yard(random, "tight")
    space, rack = random.choice([40, 90]), random.choice([12, 24, 40])
    return Texts(texts.name, yard_text(space=space, rack=rack, evening=random.choice(["18:30-20:30", "17:30-21:30"])), texts.harvests)


def _next_plan(keeper: Follower, after: Texts, before: Texts) -> Plan:
    """The plan once the changed files are recorded."""
    then = Follower.__new__(Follower)
    then.recorded, then.text, then.now = list(keeper.recorded), keeper.text, keeper.now + 60
    if after.yard != before.yard:
        then.record(YardSet(occurred_at=then.now, text=after.yard, path="yard.yaml"))
    for (name, text), (_, was) in zip(after.harvests, before.harvests, strict=True):
        if text != was:
            then.record(HarvestLogged(occurred_at=then.now, harvest=name, text=text, path=f"{name}.yaml"))
    view = LedgerView(then.recorded, then.now, then.text)
    assert view.as_of.moment <= keeper.now + HOUR
    return view.plan
