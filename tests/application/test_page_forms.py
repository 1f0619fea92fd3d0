"""What the forms of the page record, and how the last thing told is taken back where it was told."""

from __future__ import annotations

import pytest

from scheduler.application.ledger_view import view_at
from scheduler.application.page_contents import Pages
from scheduler.application.page_forms import Forms, Teller
from scheduler.application.page_remedies import remedy
from scheduler.application.refusals import Remedied
from scheduler.diagnostics import Fault
from scheduler.facts.fact import HiveTreatment, TaskBegun, TaskDone, YardSet
from scheduler.ledger.store import Ledger
from scheduler.planning.plan import Plan
from scheduler.planning.planner import Planning
from tests.conftest import EXAMPLES, PULLED

LATER = PULLED + 3600
CLOSE_UP, CUT, DRAIN, SPIN = "ridge-2/close-up", "ridge-2/a/cut.1", "ridge-2/a/drain.1", "ridge-2/b/spin"


class Phone:
    """Somebody who presses, an hour after the pull or later."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger, self.now, self.pressed = ledger, LATER, 0
        self.pages = Pages(ledger, lambda: self.now)
        self.forms = Forms(self.pages)

    def form(self, **fields: str) -> dict[str, str]:
        """A form with a key of its own."""
        self.pressed += 1
        return {"key": f"k{self.pressed}", **fields}

    def done(self, task: str, **fields: str) -> str:
        """Press done; gives the receipt. What is doubted is a fault of the test."""
        taken = self.forms.done(self.form(task=task, **fields), Teller())
        assert not taken.doubt
        return taken.receipt

    def standing(self) -> set[str]:
        """The tasks that are recorded as done."""
        return set(view_at(self.ledger, self.now).happened.done)


@pytest.fixture
def phone(ledger: Ledger) -> Phone:
    """On the example."""
    return Phone(ledger)


def test_what_was_told_last_is_taken_back_where_it_was_told(phone: Phone) -> None:
    """By the answer's own form, once, however often it is sent; what another told meanwhile stands."""
    key = phone.done(CLOSE_UP)
    phone.ledger.append([TaskDone(occurred_at=LATER - 60, task=CUT)], LATER)
    form = phone.form(facts=phone.forms.written(key))
    taken = phone.forms.undo(form, Teller())
    assert phone.forms.undo(form, Teller()) == taken
    assert phone.standing() == {CUT}
    assert phone.forms.said(taken.receipt) == "Taken back: Close up 29 frames, nothing dripping: done, Tue 11 Aug 11:30"
    with pytest.raises(Remedied, match="taken back or corrected before"):
        phone.forms.undo(phone.form(facts=form["facts"]), Teller())


def test_what_is_ticked_of_a_checklist_is_done_along_with_its_step(phone: Phone) -> None:
    """Each line by itself: what was not ticked is asked about, for nobody says that all of it was done."""
    [step] = [one for one in phone.pages.contents().work()["shown"].steps if one.task == CLOSE_UP]
    ticked, *others = [line for line, _ in step.lines]
    assert others
    key = phone.done(CLOSE_UP, also=ticked)
    assert phone.standing() == {CLOSE_UP, ticked}
    assert "Not ticked: Mark the boxes of lot b" in (phone.forms.said(key) or "")
    assert len(phone.forms.written(key).split(",")) == 2


def test_after_a_new_start_it_is_taken_back_on_the_page_of_its_task(phone: Phone) -> None:
    """The answer is forgotten then, the task is not; the beginning stands again once the end is taken back."""
    phone.done(CLOSE_UP)
    phone.done(CUT)
    phone.done(DRAIN)
    phone.now += 3600
    key = phone.done(DRAIN, whole="1")
    assert Forms(phone.pages).written(key) == ""
    facts, words = phone.pages.contents().task(DRAIN)["told"]
    assert words == "Rack 20 pieces to drain, lot a: done, Tue 11 Aug 12:30"
    phone.forms.undo(phone.form(facts=facts), Teller())
    facts, words = phone.pages.contents().task(DRAIN)["told"]
    assert words.startswith("Rack 20 pieces to drain, lot a: begun")
    assert DRAIN not in phone.standing()
    assert phone.pages.contents().task(SPIN)["told"] is None


@pytest.mark.parametrize("facts", ["", "0" * 32, "x,y", "," * 3000])
def test_what_is_no_fact_takes_nothing_back(phone: Phone, facts: str) -> None:
    """Nor does the yard go by a form."""
    yard = phone.ledger.facts()[0].id
    for ids in (facts, yard, f"{yard},{facts}"):
        with pytest.raises(Remedied, match="taken back or corrected before"):
            phone.forms.undo(phone.form(facts=ids), Teller())


def test_what_is_pressed_on_a_page_is_checked_by_its_plan_at_the_moment_of_the_press(phone: Phone) -> None:
    """Twenty minutes after the page was loaded: no plan is made for the press, and its time is not one to come."""
    contents = phone.pages.contents()
    contents.work()
    phone.now += 1200
    view = phone.pages.shown("")
    assert view is not None
    assert (view.plan is contents.plan, view.now) == (True, phone.now)
    assert "done Tue 11 Aug 11:50" in (phone.forms.said(phone.done(CLOSE_UP)) or "")
    assert phone.pages.shown("") is None
    assert phone.pages.shown("us") is None


def test_a_harvest_that_was_planned_is_off_by_a_press_and_planned_again_when_it_is_taken_back(phone: Phone) -> None:
    """Its work is likely until then; the answer asks what a log asks. One that is off, or that nobody planned, is refused."""
    phone.forms.harvest(phone.form(name="fell-3", pulled="tomorrow 10:00", hives="oak", lots="extracted 9 medium"))
    assert phone.pages.contents().work()["pulls"] == [("fell-3", "Wed 12 Aug 10:00")]
    phone.now += 86_400
    key = phone.forms.pulled(phone.form(harvest="fell-3", at="10:15"), Teller()).receipt
    assert (phone.forms.said(key) or "").startswith("fell-3: supers off Wed 12 Aug 10:15. Cover them")
    assert phone.pages.contents().work()["pulls"] == []
    for name in ("fell-3", "ridge-2", "nowhere"):
        with pytest.raises(Remedied, match="is planned and not off yet"):
            phone.forms.pulled(phone.form(harvest=name), Teller())
    phone.forms.undo(phone.form(facts=phone.forms.written(key)), Teller())
    assert [name for name, _ in phone.pages.contents().work()["pulls"]] == ["fell-3"]


def test_a_reading_of_a_lot_stops_it_and_another_lets_it_go_on(phone: Phone) -> None:
    """Honey that is too moist is stopped, on its page too; nothing but a drier reading, or a reason, lets it go on."""
    reads = {"lot": "ridge-2/b", "what": "moisture"}
    key = phone.forms.reading(phone.form(**reads, value="21 %"), Teller()).receipt
    assert phone.forms.said(key) == "moisture of ridge-2/b: 21 %"
    assert [stop.kind for stop in phone.pages.contents().lot("ridge-2/b")["stops"]] == ["moisture"]
    [(_, how, lots)] = phone.pages.contents().work()["shown"].stops
    assert (lots, how.endswith("To go on: A reading at or under the limit.")) == (("ridge-2/b",), True)
    for wrong, says in (({"value": "wet"}, "wet"), ({"what": "colour", "value": "5"}, "not read of a lot"), ({"lot": "none", "value": "17 %"}, "not one of")):
        with pytest.raises(Fault, match=says):
            phone.forms.reading(phone.form(**(reads | wrong)), Teller())
    phone.now += 60
    phone.forms.reading(phone.form(**reads, value="17.4 %"), Teller())
    assert phone.pages.contents().lot("ridge-2/b")["stops"] == []
    with pytest.raises(Remedied, match="nothing stops ridge-2/b"):
        phone.forms.release(phone.form(lot="ridge-2/b", because="it is dry"), Teller())


def test_a_harvest_is_taken_back_only_by_who_is_sure(phone: Phone) -> None:
    """All that is planned from it goes too, so it is asked first."""
    key = phone.forms.harvest(phone.form(name="ridge-9", lots="cut comb 4 shallow", hives="north, south")).receipt
    form = phone.form(facts=phone.forms.written(key))
    assert "takes back the harvest ridge-9" in phone.forms.undo(form, Teller()).doubt
    assert "ridge-9" in {one.harvest for one in view_at(phone.ledger, LATER).harvests}
    phone.forms.undo(form | {"sure": "1"}, Teller())
    assert "ridge-9" not in {one.harvest for one in view_at(phone.ledger, LATER).harvests}


def test_a_beginning_is_recorded_for_another_time_while_it_runs(phone: Phone) -> None:
    """Racked half an hour before it was pressed: the hold counts from then, and one beginning stands."""
    phone.done(CLOSE_UP, at="10:35")
    phone.done(CUT, at="10:50")
    phone.done(DRAIN)
    assert phone.pages.contents().task(DRAIN)["holding"] == "runs"
    before = next(task.hold_done for task in view_at(phone.ledger, LATER).plan.tasks if task.id == DRAIN)
    phone.done(DRAIN, again="1", at="11:00")
    after = next(task.hold_done for task in view_at(phone.ledger, LATER).plan.tasks if task.id == DRAIN)
    assert before is not None
    assert after is not None
    assert before - after == 1800
    assert sum(isinstance(one.fact, TaskBegun) for one in view_at(phone.ledger, LATER).facts) == 1


def test_a_hold_that_runs_is_ended_early_only_by_who_says_so(phone: Phone) -> None:
    """Done alone is refused with the way to say it; the end is recorded with its moment, and words of doubt."""
    phone.done(CLOSE_UP)
    phone.done(CUT)
    phone.done(DRAIN)
    phone.now += 3600
    with pytest.raises(Remedied, match="holds until") as refused:
        phone.done(DRAIN)
    assert remedy(refused.value)[1:] == (f"/task/{DRAIN}", "Open the task")
    key = phone.done(DRAIN, whole="1", at="12:00")
    assert "it may not have done its work" in (phone.forms.said(key) or "")
    assert DRAIN in phone.standing()


def test_what_waited_without_a_connection_keeps_its_moment_through_a_question(phone: Phone) -> None:
    """Drained before the cut, pressed a quarter of an hour ago: the question carries that moment."""
    phone.done(CUT, at="11:20")
    taken = phone.forms.done(phone.form(task=DRAIN, ago="900"), Teller())
    assert (taken.doubt != "", taken.at) == (True, "2026-08-11 11:15")


def test_a_harvest_without_a_lot_says_what_to_type(phone: Phone) -> None:
    """A line, not an option of a command."""
    with pytest.raises(Fault, match="at least one lot") as refused:
        phone.forms.harvest(phone.form(name="ridge-9", lots=" \n "))
    assert remedy(refused.value).words == (
        "a harvest has at least one lot. Write: what came off, in the list, or in words 'cut comb 5 shallow 17.4%' or 'extracted 14 medium'"
    )


def test_no_remedy_on_the_page_is_a_command(phone: Phone) -> None:
    """Of what the forms of a task and its page refuse."""
    phone.done(CLOSE_UP)
    phone.done(CUT)
    phone.done(DRAIN)
    refused: list[Fault] = []
    for task, fields in (
        (CLOSE_UP, {}),
        (DRAIN, {"amount": "3"}),
        (DRAIN, {"hives": "north"}),
        (CLOSE_UP, {"again": "1"}),
        (SPIN, {"again": "1"}),
        ("ridge-2/reduce-entrances", {"amount": "2 kg"}),
        ("ridge-2/treatment", {"hives": "nowhere"}),
        ("nothing", {}),
    ):
        try:
            phone.done(task, **fields)
        except Fault as fault:
            refused.append(fault)
    for task in (CLOSE_UP, DRAIN):
        for send, fields in ((phone.forms.later, {"until": "tomorrow 18:00"}), (phone.forms.drop, {"because": "no wax"})):
            try:
                send(phone.form(task=task, **fields), Teller())
            except Fault as fault:
                refused.append(fault)
    assert len(refused) >= 10
    for one in map(remedy, refused):
        assert "afterpull" not in one.words
        assert "--" not in one.words


def test_a_lot_that_is_stopped_goes_on_for_a_reason(phone: Phone) -> None:
    """A hive was under a treatment when its supers came off: what the label says lets the honey go on, and without a word nothing does."""
    phone.ledger.append([HiveTreatment(occurred_at=PULLED - 86_400, hive="all", begins=True, active="formic acid")], LATER)
    stopped = [lot for _, _, lots in phone.pages.contents().work()["shown"].stops for lot in lots]
    assert "ridge-2/b" in stopped
    with pytest.raises(Fault, match='"because" is empty'):
        phone.forms.release(phone.form(lot="ridge-2/b", because=" "), Teller())
    key = phone.forms.release(phone.form(lot="ridge-2/b", because="the label allows supers"), Teller()).receipt
    assert "ridge-2/b goes on (treated): the label allows supers" in (phone.forms.said(key) or "")
    assert phone.pages.contents().lot("ridge-2/b")["stops"] == []


@pytest.fixture
def plannings(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """A number for each plan that is made."""
    made, planned = list[int](), Planning.plan

    def counted(self: Planning) -> Plan:
        made.append(self.given.as_of)
        return planned(self)

    monkeypatch.setattr(Planning, "plan", counted)
    return made


def test_every_press_is_answered_by_the_plan_that_is_there_until_the_next_is_made(phone: Phone, plannings: list[int]) -> None:
    """Three presses and a reading one after the other; the page that is loaded next has its plan made anew, with all of them."""
    phone.pages.contents().work()
    plannings.clear()
    phone.done(CLOSE_UP)
    phone.done(CUT)
    phone.forms.reading(phone.form(lot="ridge-2/b", what="moisture", value="17.4 %"), Teller())
    assert "holds until" in (phone.forms.said(phone.done(DRAIN)) or "")
    phone.forms.later(phone.form(task=SPIN, until="tomorrow 18:00"), Teller())
    assert plannings == []
    assert phone.standing() == {CLOSE_UP, CUT}
    states = {task.id: (task.status, task.begun is not None) for task in phone.pages.contents().plan.tasks}
    assert (states[CUT][0], states[DRAIN][1], len(plannings) > 0) == ("done", True, True)


def test_a_press_while_the_next_plan_is_being_made_goes_by_the_last_one(phone: Phone, plannings: list[int]) -> None:
    """The contents of the next page are there already, and their plan is not."""
    phone.pages.contents().work()
    phone.done(CLOSE_UP)
    assert not phone.pages.contents().is_planned
    plannings.clear()
    phone.done(CUT)
    assert plannings == []


def test_what_was_told_of_a_task_meanwhile_is_not_told_against_an_older_plan(phone: Phone) -> None:
    """Done by another, then dropped from a page that is open still; all but two pieces done, and then three."""
    phone.pages.contents().work()
    phone.done(CLOSE_UP)
    with pytest.raises(Fault, match="is done already, so it is not skipped"):
        phone.forms.drop(phone.form(task=CLOSE_UP, because="no wax"), Teller())
    left = next(task.left for task in phone.pages.contents().plan.tasks if task.id == SPIN)
    phone.done(SPIN, amount=f"{left - 2:g}")
    with pytest.raises(Fault, match=r"2 of .* are left"):
        phone.done(SPIN, amount="3")


def test_a_harvest_that_is_logged_meanwhile_is_planned_before_its_work_is_told(phone: Phone) -> None:
    """Its tasks are in no plan that was shown."""
    phone.pages.contents().work()
    phone.forms.harvest(phone.form(name="ridge-9", lots="extracted 9 medium", hives="north", pulled="2026-08-11 10:40"))
    assert phone.pages.shown("", [CLOSE_UP]) is None
    phone.done("ridge-9/a/spin")
    assert phone.standing() == {"ridge-9/a/spin"}


def test_the_last_thing_told_today_is_taken_back_on_the_page_of_the_work_after_a_new_start(phone: Phone) -> None:
    """The answer with its own form is gone then; what was told yesterday is taken back on the page of its task."""
    assert "ridge-2: harvest logged" in phone.pages.contents().work()["told"][1]
    phone.done(CLOSE_UP)
    assert Forms(phone.pages).written("k1") == ""
    facts, words = Pages(phone.ledger, lambda: phone.now).contents().work()["told"]
    assert words.startswith("Close up 29 frames, nothing dripping: done")
    phone.forms.undo(phone.form(facts=facts), Teller())
    assert phone.standing() == set()
    phone.done(CLOSE_UP)
    phone.now += 86_400
    assert phone.pages.contents().work()["told"] is None


def test_all_that_was_planned_up_to_a_day_is_listed_asked_and_recorded(phone: Phone) -> None:
    """What protects food or gives a reading is not among it, and is named; a day still to come, and one with nothing left, write nothing."""
    phone.pages.contents().work()
    phone.now += 3 * 86_400
    form = phone.form(until="2026-08-12")
    asked = phone.forms.as_planned(form, Teller())
    assert "Close up 29 frames, nothing dripping: Tue 11 Aug" in asked.doubt
    assert "Record these one by one, for they protect food or give a reading:\n- " in asked.doubt
    assert "[" not in asked.doubt
    assert phone.standing() == set()
    key = phone.forms.as_planned(form | {"sure": "1"}, Teller()).receipt
    assert CLOSE_UP in phone.standing()
    view = view_at(phone.ledger, phone.now)
    singly = {task.id for task in view.plan.tasks if view.rules.by_key[task.rule].is_told_singly}
    assert "yard-2026/mite-count" in singly
    assert not singly & phone.standing()
    assert f"{asked.doubt.split()[2]} steps recorded" in (phone.forms.said(key) or "")
    with pytest.raises(Fault, match="is still to come"):
        phone.forms.as_planned(phone.form(until="2026-09-01"), Teller())
    with pytest.raises(Remedied, match="nothing else was planned"):
        phone.forms.as_planned(phone.form(until="2026-08-11"), Teller())


def test_a_press_names_whose_phone_it_was_where_they_work_here(phone: Phone) -> None:
    """Ash works in the yard, Rowan only looks on: what is pressed on that phone, or on this machine, is the keeper's."""
    yard = (EXAMPLES / "yard.yaml").read_text(encoding="utf-8") + 'people: {Ash: {hands: {wed: "18:00-20:00"}, takes: [pack]}}\n'
    phone.ledger.append([YardSet(occurred_at=PULLED, text=yard, path="yard.yaml")], LATER)
    for task, person in ((CLOSE_UP, "Ash"), (CUT, "Rowan"), (SPIN, "")):
        phone.forms.done(phone.form(task=task), Teller(person))
    assert {one.fact.task: one.fact.by for one in phone.ledger.facts() if isinstance(one.fact, TaskDone)} == {CLOSE_UP: "Ash", CUT: None, SPIN: None}


def test_all_of_a_sitting_is_listed_asked_and_recorded_but_for_what_gives_a_reading(phone: Phone) -> None:
    """At the hours of the plan, and what was to end later now; a hold counts as begun, and one that is not over is not taken out; no reading is ticked."""
    phone.done(CLOSE_UP)
    phone.now = PULLED + 9 * 3600
    work = phone.pages.contents().work()
    at_hand, steps = work["at_once"], {step.task: step for step in work["shown"].steps}
    cards = phone.pages.contents().view.rules.by_key
    tasks = {task.id: task for task in phone.pages.contents().plan.tasks}
    assert len(at_hand) > 2
    assert set(at_hand) == {name for name in steps if not cards[tasks[name].rule].is_told_singly}
    reading = "yard-2026/mite-count"
    assert cards[tasks[reading].rule].is_told_singly
    form = phone.form(also=",".join([*at_hand, reading]))
    asked = phone.forms.as_planned(form, Teller())
    assert phone.standing() == {CLOSE_UP}
    assert "Cut 20 pieces from lot a: Tue 11 Aug" in asked.doubt
    assert asked.doubt.endswith("or give a reading:\n- Count mites in every hive")
    receipt = phone.forms.as_planned(form | {"sure": "1"}, Teller()).receipt
    happened = view_at(phone.ledger, phone.now).happened
    assert set(at_hand) <= happened.done.keys() | happened.begun.keys()
    assert CUT in happened.done
    assert DRAIN in happened.begun
    assert reading not in happened.done
    assert max([*(over for _, over in happened.done.values()), *happened.begun.values()]) <= phone.now
    assert [name for name, _ in phone.forms.one_by_one(receipt)] == [reading]
    with pytest.raises(Remedied, match="nothing else was planned"):
        phone.forms.as_planned(phone.form(also=DRAIN), Teller())


def test_what_is_seen_at_a_hive_stops_its_lots_and_lets_them_go_on(phone: Phone) -> None:
    """Foulbrood is suspected and not confirmed; a colony died, and later of what; a queen was in a super; nobody's hive, and no such thing, write nothing."""

    def says(what: str, hive: str = "north", **fields: str) -> str:
        phone.now += 60
        return phone.forms.said(phone.forms.hive(phone.form(what=what, hive=hive, on="2026-08-11", **fields), Teller()).receipt) or ""

    def stopped() -> set[str]:
        return {stop.kind for stop in phone.pages.contents().plan.stops}

    assert "Ring the bee inspector now" in says("foulbrood suspected")
    assert "foulbrood" in stopped()
    assert says("foulbrood not confirmed") == "Foulbrood in north: not confirmed. What it stopped goes on"
    assert "foulbrood" not in stopped()
    assert "record it once more then, with the cause" in says("colony died")
    assert stopped()
    assert "north died (starved)" in says("colony died", cause="starved")
    assert "look for eggs below" in says("queen or brood in a super")
    assert "afterpull" not in says("colony died", hive="ridge", cause="foulbrood")
    never = {("foulbrood suspected", "nowhere"): "no harvest names", ("swarm", "north"): "is not recorded of a hive", ("colony died", ""): "is empty"}
    for wrong, match in never.items():
        with pytest.raises(Fault, match=match) as refused:
            says(*wrong)
        assert not {"afterpull", "--"} & set(remedy(refused.value).words.split())


def test_a_treatment_begins_and_ends_on_the_page_of_the_hives(phone: Phone) -> None:
    """With its product and batch, as a medicine record has to name them; it ends once."""

    def treats(what: str, **fields: str) -> str:
        phone.now += 60
        return phone.forms.said(phone.forms.hive(phone.form(what=what, hive="all", on="2026-08-11", **fields), Teller()).receipt) or ""

    assert "Treatment of every hive with formic acid began" in treats("treatment begins", active="formic acid", product="pads", batch="17")
    [fact] = [one.fact for one in view_at(phone.ledger, phone.now).facts if isinstance(one.fact, HiveTreatment)]
    assert (fact.active, fact.product, fact.batch) == ("formic acid", "pads", "17")
    assert "Treatment of every hive ended" in treats("treatment ends", active="formic acid")
    with pytest.raises(Remedied, match="no treatment of every hive was begun"):
        treats("treatment ends")
    facts, words = phone.pages.contents().hives()["told"]
    assert words.startswith("all: hive treatment")
    phone.forms.undo(phone.form(facts=facts), Teller())
    assert view_at(phone.ledger, phone.now).under_treatment("all", phone.now)


def test_a_larva_that_was_seen_stops_its_lot_on_the_page_of_the_lot(phone: Phone) -> None:
    """Until none is seen any more; honey without comb has no such form."""
    assert [phone.pages.contents().lot(lot)["comb"] for lot in ("ridge-2/a", "ridge-2/b")] == [True, False]
    key = phone.forms.larvae(phone.form(lot="ridge-2/a", seen="yes", on="2026-08-11"), Teller()).receipt
    assert "sell none of it" in (phone.forms.said(key) or "")
    assert "larvae" in {stop.kind for stop in phone.pages.contents().plan.stops}
    phone.now += 60
    phone.forms.larvae(phone.form(lot="ridge-2/a", seen="no", on="2026-08-11"), Teller())
    assert "larvae" not in {stop.kind for stop in phone.pages.contents().plan.stops}
    for lot, seen, match in (("ridge-2/a", "no", "no larva was seen"), ("ridge-2/b", "yes", "is no comb"), ("ridge-2/a", "perhaps", "does not say whether")):
        with pytest.raises(Fault, match=match):
            phone.forms.larvae(phone.form(on="2026-08-11", lot=lot, seen=seen), Teller())
