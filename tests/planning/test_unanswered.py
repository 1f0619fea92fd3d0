"""What is weeks past any sense takes no hours and becomes one question; what protects food or the colony stays to be done."""

from scheduler.planning.draft import NOTHING, Happened
from scheduler.planning.plan import Plan
from tests.planning.cards import at, planned, reasons, tasks, warnings

CARDS = """\
cut: {title: Cut, for: cut comb, hands: 30 min, loss: crop, due: pulled + 48 h, why: beetle}
pack: {title: Pack, for: cut comb, after: {cut: {}}, hands: 30 min, loss: crop, why: it is sold}
freeze: {title: Freeze, for: cut comb, after: {pack: {}}, hands: 5 min, hold: 48 h, occupies: {freezer: 5 L}, why: moth}
thaw: {title: Thaw, for: cut comb, after: {freeze: {}}, hands: 5 min, told singly: true, why: dew}
label: {title: Label, for: cut comb, after: {thaw: {}}, hands: 20 min, why: it is sold}
feed: {title: Feed, for: yard, hands: 20 min, loss: colony, due: pulled + 240 h, why: stores}
guard: {title: Guard, for: yard, earliest: first frost - 168 h, hands: 20 min, loss: comfort, why: mice}
"""
LOT = "  - {id: a, kind: cut comb, frames: 2, frame: shallow, comb thickness: 32 mm, pieces: 20, moisture: 17 %}\n"


def _on(moment: str, happened: Happened = NOTHING, *, asks: bool = True) -> Plan:
    return planned(CARDS, LOT, as_of=moment, happened=happened, asks=asks)


def _statuses(found: Plan) -> dict[str, str]:
    return {name.rpartition("/")[2]: task.status for name, task in tasks(found).items()}


def test_what_is_weeks_past_sense_takes_no_hours_and_asks_one_question() -> None:
    """Nothing is recorded five weeks after the pull: comb is not cut tonight, and one question is asked of all of it."""
    found = _on("2026-09-15T12:00")
    assert {name for name, status in _statuses(found).items() if status == "lapsed"} == {"cut", "pack", "label"}
    assert not tasks(found)["w/a/cut"].hands
    assert "due date missed" not in {warning.kind for warning in found.warnings if warning.task == "w/a/cut"}
    assert warnings(found)["unanswered"].startswith("3 steps were planned weeks ago, the first for Tue 11 Aug 17:50")
    assert "it was planned for Tue 11 Aug 17:50" in reasons(tasks(found)["w/a/cut"])["unanswered"]


def test_what_protects_food_or_the_colony_stays_to_be_done() -> None:
    """The kill, the thaw and the feed are asked one by one: they are in tonight's plan, and nothing holds the freezer up any more."""
    found = _on("2026-09-15T12:00")
    assert {name for name, status in _statuses(found).items() if status == "planned"} >= {"freeze", "thaw", "feed"}
    assert tasks(found)["w/a/freeze"].start < at("2026-09-16 00:00")


def test_what_is_still_to_come_is_planned_as_ever() -> None:
    """Mouse guards are of October, whatever became of August."""
    assert _statuses(_on("2026-09-15T12:00"))["guard"] == "provisional"


def test_three_weeks_are_not_past_sense_before_they_are_over() -> None:
    """A keeper who lags a fortnight behind has the work before him still."""
    assert "lapsed" not in _statuses(_on("2026-08-28T12:00")).values()


def test_where_nothing_can_be_recorded_nothing_is_asked() -> None:
    """A plan from files alone knows no silence."""
    found = _on("2026-09-15T12:00", asks=False)
    assert "lapsed" not in _statuses(found).values()
    assert "unanswered" not in warnings(found)


def test_a_keeper_who_tells_of_a_lot_is_not_asked_about_it() -> None:
    """Cut on 4 September and told so: the packing is late, and it is tonight's work."""
    cut = Happened(done={"w/a/cut": (at("2026-09-04 17:30"), at("2026-09-04 18:00"))})
    assert _statuses(_on("2026-09-15T12:00", cut))["pack"] == "planned"


def test_what_was_passed_over_is_asked_about_however_often_the_keeper_tells() -> None:
    """Frozen through last week, so it was cut and packed: both are not planned for tonight."""
    frozen = Happened(done={"w/a/freeze": (at("2026-09-08 17:30"), at("2026-09-10 17:35"))})
    statuses = _statuses(_on("2026-09-15T12:00", frozen))
    assert (statuses["cut"], statuses["pack"], statuses["thaw"], statuses["label"]) == ("lapsed", "lapsed", "planned", "planned")


def test_what_was_put_off_is_not_past_sense() -> None:
    """Put off until the evening of the 20th, it is planned then."""
    later = Happened(put_off={"w/a/cut": at("2026-09-20 17:30")})
    assert tasks(_on("2026-09-15T12:00", later))["w/a/cut"].start == at("2026-09-20 17:30")
