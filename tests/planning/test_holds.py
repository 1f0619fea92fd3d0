"""Words of a hold that can not be."""

from __future__ import annotations

from scheduler.outputs.wording.sentence import METRIC, in_words
from tests.planning.whole import harvest, planned, yard


def test_a_load_that_the_freezer_does_not_hold_is_refused_by_the_litre() -> None:
    """One packed piece of comb is more than a compartment of 0.2 L takes; the yard file says litres, and so does the plan."""
    place = yard(space=0.2)
    lot: dict[str, object] = {"kind": "cut comb", "frames": 1, "moisture": 17.0, "imperfect": 0}
    found = planned(place, [harvest(place, "w", "2026-08-11T10:30", [lot])], "2026-08-11T11:00")
    told = [in_words(warning.says, METRIC) for warning in found.plan.warnings if warning.kind == "cannot be done"]
    assert told
    assert all("L of the freezer, which holds 0.2 L" in text for text in told)
