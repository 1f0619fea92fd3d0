"""One person's work, or the work at one place, out of a whole plan. The plan is invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.application.selection import PlanFilter
from scheduler.diagnostics import Fault
from scheduler.planning.plan import Plan, Warning
from scheduler.quantities import say
from tests.outputs.plans import at, plan, task

START = at("2026-08-11 17:30")
WHOLE = plan(
    replace(task("spin", START), person="Mira"),
    replace(task("feed", START + 3600), place="apiary"),
    replace(task("return frames", START + 7200), place="apiary", person="Mira"),
)._replace(
    warnings=(
        Warning("late", "ridge-2/a/spin", say("no time fits")),
        Warning("late", "ridge-2/a/feed", say("no time fits")),
        Warning("season not set", None, say("no time fits")),
    )
)


def names(found: Plan) -> list[str]:
    """The last part of each task."""
    return [one.id.rpartition("/")[2] for one in found.tasks]


@pytest.mark.parametrize(
    ("person", "place", "expected"),
    [
        (None, None, ["spin", "feed", "return frames"]),
        ("Mira", None, ["spin", "return frames"]),
        ("keeper", None, ["feed"]),
        (None, "apiary", ["feed", "return frames"]),
        ("Mira", "apiary", ["return frames"]),
        ("keeper", "store", []),
    ],
)
def test_what_nobody_takes_is_the_keepers_and_both_words_narrow(person: str | None, place: str | None, expected: list[str]) -> None:
    """By who does it and by where."""
    assert names(PlanFilter(person, place, ["Mira"]).of(WHOLE)) == expected


def test_warnings_of_others_are_left_out_and_those_of_the_whole_stay() -> None:
    """That the season is not set concerns everybody."""
    found = PlanFilter("Mira", None, ["Mira"]).of(WHOLE)
    assert [one.task for one in found.warnings] == ["ridge-2/a/spin", None]


def test_each_part_is_remembered_under_a_name_of_its_own() -> None:
    """What moved since the last look at one part is not what moved since a look at another."""
    parts = [PlanFilter(person, place, ["Mira"]) for person in (None, "Mira", "keeper") for place in (None, "apiary")]
    assert len({part.reader for part in parts}) == len(parts)
    assert parts[0].reader == "agenda"
    assert parts[3].words == "for Mira, apiary"


@pytest.mark.parametrize(("person", "place", "said"), [("Mirra", None, '"Mirra" does not work in this yard'), (None, "attic", 'there is no place "attic"')])
def test_who_or_what_is_not_known_is_refused_with_the_nearest(person: str | None, place: str | None, said: str) -> None:
    """An empty agenda would look like a free evening."""
    with pytest.raises(Fault, match=said) as refused:
        PlanFilter(person, place, ["Mira"])
    assert refused.value.write
