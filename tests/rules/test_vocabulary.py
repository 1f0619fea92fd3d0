"""The names that rule files are checked against are those that a plan gives them."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.application.scenarios import problem_of
from scheduler.planning.context import names
from scheduler.planning.draft import Pull, Subject
from scheduler.rules.vocabulary import VOCABULARY


def seen_by_a_lot() -> dict[str, Any]:
    """The names of the first lot of the scenario harvest."""
    problem = problem_of({})
    harvest = problem.harvests[0]
    subject = Subject("2026", harvest.harvest, harvest.lots[0].id)
    return names(problem.yard, problem.season, [Pull(harvest, problem.as_of, "2026")], subject)


@pytest.mark.parametrize("variable", sorted(VOCABULARY.keys() - {"batch"}))
def test_a_variable_has_the_fields_the_check_knows_and_of_the_same_kind(variable: str) -> None:
    """A name that the check lets pass is there when a plan is made, as a number, a word or yes or no."""
    found = {name: type(value) for name, value in seen_by_a_lot()[variable].items()}
    assert found == {name: type(value) for name, value in VOCABULARY[variable].items()}
