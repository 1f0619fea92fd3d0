"""What a message says: an alert, a digest of overdue ones, a day's summary. The plan is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import pytest

from scheduler.outputs.notify.words import MOST_LINES, DueAlert, alert_message, digest_message, is_begin_alert, not_looking_message, open_task, summary_message
from scheduler.planning.plan import Reason, Told
from scheduler.quantities import say
from tests.outputs.plans import HOUR, at, plan, task

NOW = at("2026-08-11 17:30")
DRAIN = replace(
    task("drain", NOW, minutes=10, hold=41 * HOUR),
    alerts=(Told(NOW, "Rack 24 pieces"), Told(NOW + 42 * HOUR, "Drained: pack 24 pieces")),
    cautions=("hot knife",),
    reasons=(Reason("rule", say("rule", text="It drips.")), Reason("hands", say("put off"))),
)
PLAN = plan(DRAIN, as_of=NOW)


def due(number: int = 0, **more: object) -> DueAlert:
    """An alert of the drain."""
    one = DueAlert("k", DRAIN.id, number, "Rack 24 pieces", "crop", NOW, False, None)
    return replace(one, **more)  # type: ignore[arg-type]


def buttons(alert: DueAlert, now: int = NOW) -> list[str]:
    """The answers that an alert offers."""
    return [one.id for one in alert_message(alert, now, PLAN, time(18)).buttons]


def test_what_to_do_stands_in_the_title_and_first_in_the_body() -> None:
    """A channel may show one of them only; cautions before why."""
    message = alert_message(due(), NOW, PLAN, time(18))
    assert message.title == "Rack 24 pieces"
    assert message.body.splitlines() == ["Rack 24 pieces", "hot knife", "Kestrel Bank, due Tue 11 Aug 17:30", "It drips."]
    assert message.urgent
    assert not alert_message(due(loss="comfort"), NOW, PLAN, time(18)).urgent


@pytest.mark.parametrize(("number", "answer"), [(0, "begun"), (1, "done"), (7, "done")])
def test_at_the_beginning_of_a_hold_the_answer_is_begun(number: int, answer: str) -> None:
    """At its end it is done; so is what no longer is an alert of the task."""
    assert is_begin_alert(DRAIN, number) is (answer == "begun")
    assert buttons(due(number)) == [answer, "hour", "evening"]


def test_what_is_late_or_told_again_says_so_first() -> None:
    """Again goes before late."""
    assert alert_message(due(), NOW + 3 * HOUR, PLAN, time(18)).title == "Late by 3 h: Rack 24 pieces"
    assert alert_message(due(repeated=True), NOW + 3 * HOUR, PLAN, time(18)).title == "Again: Rack 24 pieces"


def test_a_hold_whose_beginning_nobody_recorded_says_what_it_counts_from() -> None:
    """So that the keeper can put it right."""
    body = alert_message(due(1, assumed_start=NOW - HOUR), NOW, PLAN, time(18)).body
    assert "Counted from the planned start, Tue 11 Aug 16:30." in body


def test_without_a_plan_an_alert_is_told_all_the_same() -> None:
    """In UTC, for no yard says which zone."""
    message = alert_message(due(), NOW, None, time(18))
    assert message.body.splitlines() == ["Rack 24 pieces", "due Tue 11 Aug 15:30"]
    assert open_task(None, DRAIN.id) is None
    assert open_task(plan(replace(DRAIN, status="done"), as_of=NOW), DRAIN.id) is None


def test_a_digest_names_the_most_urgent_first_and_counts_the_rest() -> None:
    """Food safety before comfort, of the same loss the earliest; all keys are in it, for an answer is to all."""
    alerts = [due(key=f"k{number:02}", loss="comfort", due_at=NOW - number * 60, say=f"Look {number}") for number in range(MOST_LINES + 2)]
    worst = due(key="worst", loss="food safety", say="Freeze", repeated=True)
    message = digest_message([*alerts, worst], NOW, PLAN)
    assert message.title == f"{MOST_LINES + 3} alerts are late; first: Freeze"
    assert (message.key, len(message.other_keys), message.urgent) == ("worst", MOST_LINES + 2, True)
    lines = message.body.splitlines()
    assert lines[1].startswith(f"Look {MOST_LINES + 1} (due ")
    assert lines[MOST_LINES].startswith("and 3 more")
    assert digest_message([replace(one, repeated=True) for one in alerts], NOW, PLAN).title.startswith("Again: ")


def test_a_summary_is_of_one_day_with_its_work_in_order() -> None:
    """Hands-on parts and the end of a hold; what is done is not to do."""
    spin, other_day = task("spin", NOW + 2 * HOUR), task("pack", NOW + 30 * HOUR)
    message = summary_message("s", plan(DRAIN, spin, other_day, as_of=NOW), date(2026, 8, 11), "Today", NOW, NOW)
    assert message.title == "Today, Tue 11 Aug: 2 things to do, 40 min of work"
    assert [(line[:6], "drain" in line.lower(), "spin" in line.lower()) for line in message.body.splitlines()] == [
        ("17:30 ", True, False),
        ("19:30 ", False, True),
    ]
    over = summary_message("s", PLAN, date(2026, 8, 13), "Tomorrow", NOW, NOW)
    assert "drain" in over.body.lower()
    assert over.title == "Tomorrow, Thu 13 Aug: 1 thing to do"
    assert "nothing to do" in summary_message("s", plan(replace(spin, status="done"), as_of=NOW), date(2026, 8, 11), "Today", NOW, NOW).title


def test_a_watch_that_is_blind_says_so_urgently() -> None:
    """With what to do about it."""
    message = not_looking_message("the ledger is locked\n    write it again")
    assert message.urgent
    assert message.body.splitlines()[1:3] == ["the ledger is locked", "write it again"]
