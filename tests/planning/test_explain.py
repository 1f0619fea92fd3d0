"""What a person is told of each task: its times and status, what kept it from being earlier, and what makes it provisional."""

from __future__ import annotations

from datetime import datetime

from scheduler.planning.draft import Happened
from scheduler.planning.plan import Link
from tests.planning.cards import ZONE, at, planned, reasons, tasks

FREEZE = "%s: {title: Freeze %s, for: cut comb, hands: {before: 10 min, hours: any}, occupies: {freezer: 60 L}, hold: 24 h, due: %s, why: x}\n"


def test_tasks_stand_in_the_order_they_start_and_then_by_name() -> None:
    """Two that begin at once, and one a day later."""
    found = planned(
        """
        b: {title: B, for: cut comb, hands: {before: 0 min}, hold: 1 h, why: x}
        a: {title: A, for: cut comb, hands: {before: 0 min}, hold: 1 h, why: x}
        c: {title: C, for: cut comb, hands: {before: 0 min}, hold: 1 h, earliest: pulled - 1 h, why: x}
        late: {title: Late, for: cut comb, hands: {before: 0 min}, hold: 1 h, earliest: pulled + 1 d, why: x}
        """
    )
    assert [task.id for task in found.tasks] == ["w/a/a", "w/a/b", "w/a/c", "w/a/late"]


def test_what_kept_a_task_from_being_earlier_is_named() -> None:
    """The task before it, or its window, in which hands are wanted or not; what begins at once is kept by nothing."""
    found = tasks(
        planned(
            """
            read: {title: Read, for: cut comb, hands: {before: 10 min, hours: any}, why: x}
            note: {title: Note, for: cut comb, hands: {before: 5 min, hours: any}, after: {read: {}}, loss: crop, why: x}
            dusk: {title: Dusk, for: cut comb, hands: {before: 5 min, hours: any}, window: {clock: "20:00-21:00"}, why: x}
            tank: {title: Tank, for: cut comb, hands: {before: 0 min, hours: any}, hold: 1 h, window: {clock: "20:00-21:00"}, why: x}
            """
        )
    )
    assert reasons(found["w/a/note"])["after read"] == 'starts once "Read" allows it (Tue 11 Aug 10:40)'
    assert reasons(found["w/a/dusk"])["hands"] == "next free hour: Tue 11 Aug 20:00"
    assert reasons(found["w/a/tank"])["window"] == "waits for its window: Tue 11 Aug 20:00"
    assert not {"after read", "hands", "window", "greatest lag"} & set(reasons(found["w/a/read"]))


def test_hands_that_are_busy_and_a_freezer_that_is_full_are_named() -> None:
    """Two readings at once are one after the other; two loads of 60 L in 90 L are a day apart."""
    read = "%s: {title: Read %s, for: cut comb, hands: {before: 10 min, hours: any}, why: x}\n"
    found = tasks(planned(read % ("a", "a") + read % ("b", "b")))
    [second] = [task for task in found.values() if task.start == at("11 10:40")]
    assert reasons(second)["hands"] == "next free hour: Tue 11 Aug 10:40"
    found = tasks(planned(FREEZE % ("one", 1, "pulled + 25 h") + FREEZE % ("two", 2, "pulled + 50 h")))
    assert reasons(found["w/a/two"])["resource freezer"].startswith("freezer full until Wed 12 Aug 10:")


def test_what_follows_a_provisional_date_is_provisional_too_however_far() -> None:
    """The first frost is a normal; the guard hangs on it, the look on the guard, and the note on the look. What hangs on the pull is firm."""
    found = tasks(
        planned(
            """
            note: {title: Note, for: cut comb, after: {look: {}}, why: x}
            look: {title: Look, for: cut comb, after: {guard: {}}, why: x}
            guard: {title: Guard, for: cut comb, earliest: first frost, why: x}
            cut: {title: Cut, for: cut comb, why: x}
            """
        )
    )
    assert {name[4:]: task.status for name, task in found.items()} == {"note": "provisional", "look": "provisional", "guard": "provisional", "cut": "planned"}
    assert reasons(found["w/a/guard"])["provisional"] == "likely: rests on the usual date of first frost; firm once you record it"
    assert reasons(found["w/a/note"])["provisional"] == 'likely: follows "Look", whose date is not firm'
    assert "provisional" not in reasons(found["w/a/cut"])


def test_what_is_done_or_skipped_stands_as_it_was_and_asks_for_nothing() -> None:
    """Times as told, no alerts, no hands; the reason for skipping is kept."""
    card = "cut: {title: Cut, for: cut comb, alerts: [{say: Cut}], why: x}\n"
    happened = Happened(done={"w/a/cut": (at("11 11:00"), at("11 12:00"))}, skipped={"w/a/label": (at("11 13:00"), "the buyer labels")})
    found = tasks(planned(card + card.replace("cut:", "label:").replace("Cut", "Label"), happened=happened, as_of="2026-08-11T14:00"))
    done, skipped = found["w/a/cut"], found["w/a/label"]
    assert (done.status, done.start, done.finish, done.hands, done.alerts) == ("done", at("11 11:00"), at("11 12:00"), (), ())
    assert (skipped.status, skipped.start, skipped.hands, skipped.alerts) == ("skipped", at("11 13:00"), (), ())
    assert reasons(skipped)["skipped"] == "skipped: the buyer labels"
    assert tasks(planned(card))["w/a/cut"].alerts[0].at == at("11 17:30")


def test_what_can_not_be_done_stands_where_it_would_have_begun() -> None:
    """With the reason, no hold and no alert; what waits for it cannot be done either."""
    found = tasks(
        planned(
            """
            cut: {title: Cut, for: cut comb, hands: 30 min, why: x}
            freeze: {title: Freeze, for: cut comb, after: {cut: {at least: 1 h}}, occupies: {freezer: 91 L}, hold: 24 h, alerts: [{say: x}], why: x}
            thaw: {title: Thaw, for: cut comb, after: {freeze: {}}, why: x}
            """
        )
    )
    freeze, thaw = found["w/a/freeze"], found["w/a/thaw"]
    assert (freeze.status, freeze.start, freeze.hold_done, freeze.finish, freeze.alerts) == ("impossible", at("11 19:00"), None, at("11 19:00"), ())
    assert reasons(freeze)["impossible"].startswith("one load needs 91 L")
    assert (thaw.status, reasons(thaw)["impossible"]) == ("impossible", 'it waits for "Freeze", which cannot be done')


def test_a_task_carries_what_its_card_says() -> None:
    """Rule, lot, place, loss, links and room taken; the rule's own words come first of its reasons."""
    found = tasks(
        planned(
            """
            cut: {title: "Cut {lot.pieces}", for: cut comb, place: anywhere, loss: crop, why: Warm comb tears.}
            drain: {title: Drain, for: cut comb, after: {cut: {within: 2 h}}, occupies: {drain rack: lot.pieces}, hold: 24 h, why: It drips.}
            """
        )
    )
    cut, drain = found["w/a/cut"], found["w/a/drain"]
    assert (cut.rule, cut.title, cut.harvest, cut.lot, cut.place, cut.loss, cut.batch, cut.left) == (
        "mine/cut",
        "Cut 20",
        "w",
        "a",
        "anywhere",
        "crop",
        None,
        0,
    )
    assert (drain.links, drain.occupies, drain.loss) == ((Link("w/a/cut", "finish to start", 0, 7200),), (("drain rack", 20),), "comfort")
    assert next(iter(reasons(cut).items())) == ("rule", "Warm comb tears.")


def test_work_is_shown_as_long_as_it_takes_in_as_many_evenings_as_it_needs() -> None:
    """An hour of cutting is one evening; thirteen hours, which no free day has, are three evenings of four hours and an hour of the fourth."""
    for hours, evenings in ((1, ["11 17:30"]), (13, ["11 17:30", "12 17:30", "13 17:30", "14 17:30"])):
        [task] = planned(f"cut: {{title: Cut, for: cut comb, hands: {hours} h, why: x}}").tasks
        assert sum(b - a for a, b in task.hands) == hours * 3600
        assert [f"{datetime.fromtimestamp(a, ZONE):%d %H:%M}" for a, _ in task.hands] == evenings
