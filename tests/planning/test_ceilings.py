"""The two ceilings of a hold: by when somebody looks, and how long it may wait for hands once it is over. Neither cuts a kill."""

from __future__ import annotations

import pytest

from scheduler.diagnostics import Refused
from scheduler.documents import read as read_document
from scheduler.documents import record
from scheduler.facts.yard import read_yard
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.planning.plan import PlannedTask
from scheduler.rules.schema import RuleSet
from tests.planning.whole import Case, harvest, planned, yard, yard_text

LOT: dict[str, object] = {"kind": "cut comb", "frames": 5, "moisture": 17.4, "imperfect": 0}


def of_card(case: Case, card: str) -> PlannedTask:
    """The first task of a card."""
    return next(task for task in case.plan.tasks if task.rule == card)


def told(case: Case, kind: str) -> list[str]:
    """The warnings of a kind, in words."""
    return [in_words(warning.says, METRIC) for warning in case.plan.warnings if warning.kind == kind]


@pytest.mark.parametrize("changed", ["parameters: {freeze ceiling: 1 h}", "tasks: {freeze: {hold: {at most: 1 h}}}", "parameters: {freeze wait: 1 h}"])
def test_no_ceiling_cuts_a_kill(changed: str) -> None:
    """However short the old ceiling or the wait, packages stay in the freezer as long as without it; the old word is told with its line."""
    plain, place = yard(), read_yard(f"{yard_text()}changes: {{cut comb: {{{changed}}}}}\n".encode(), "yard.yaml")
    usual, found = (planned(one, [harvest(one, "w", "2026-08-11T10:30", [LOT])], "2026-08-11T11:00") for one in (plain, place))
    before, after = of_card(usual, "cut comb/freeze"), of_card(found, "cut comb/freeze")
    assert (after.hold_done or 0) - after.holds_from == (before.hold_done or 0) - before.holds_from >= 48 * 3600
    old = [text for text in told(found, "old word") if text.startswith("yard.yaml:19:")]
    assert len(old) == (0 if "freeze wait" in changed else 1)
    assert all("freeze wait" in text or "wait at most" in text for text in old)


def test_a_load_that_waits_too_long_for_hands_is_late_and_has_its_time() -> None:
    """Hands on Saturdays alone: over after two days, the packages may wait an hour, and nothing falls out of the plan for it."""
    place = read_yard(f"{yard_text(evening='none')}changes: {{cut comb: {{parameters: {{freeze wait: 1 h}}}}}}\n".encode(), "yard.yaml")
    found = planned(place, [harvest(place, "w", "2026-08-11T10:30", [LOT])], "2026-08-11T11:00")
    assert of_card(found, "cut comb/freeze").status == "planned"
    assert any("it may wait 1 h for hands" in text for text in told(found, "held too long"))
    assert not told(found, "no time")


def test_by_the_look_somebody_looks_whatever_the_estimate_says() -> None:
    """Comb drains for more than four days at 10 °C; after three days the alert says to look, not that it is drained, and the reason has the estimate still."""
    place = yard(room=10)
    drain = of_card(planned(place, [harvest(place, "w", "2026-08-11T10:30", [LOT])], "2026-08-11T11:00"), "cut comb/drain")
    assert (drain.hold_done or 0) - drain.holds_from == 72 * 3600
    [alert] = [alert.say for alert in drain.alerts if alert.at == drain.hold_done]
    assert alert.startswith("Look at the cut edges")
    [why] = [in_words(reason.says, METRIC) for reason in drain.reasons if reason.label == "bound by look"]
    assert why.startswith("computed 4 d")


def test_a_look_ends_no_kill() -> None:
    """A card that holds in the freezer is refused a look that would end it."""
    card = "title: Freeze\n    for: cut comb\n    hold: {at least: 24 h, look at: 12 h}\n    occupies: {freezer: 0.1}\n    why: Moths."
    with pytest.raises(Refused, match="a hold in the freezer is a kill"):
        record(read_document(f"ruleset: own\nversion: 1\ntasks:\n  freeze:\n    {card}\n".encode(), "own.yaml", "rules"), RuleSet)
