"""The names that rule files are checked against are those that a plan gives them."""

from __future__ import annotations

from typing import Any

import pytest
from click.testing import CliRunner

from scheduler.application.scenarios import scenario_problem
from scheduler.cli import main
from scheduler.planning.context import names_by_subject
from scheduler.planning.draft import Pull, Subject
from scheduler.planning.treatments import treatments_of
from scheduler.quantities import dimensions
from scheduler.rules.vocabulary import NAMES, filled


def seen() -> dict[str, Any]:
    """The names of the first lot of the scenario harvest, and of its first hive."""
    problem = scenario_problem({})
    harvest = problem.harvests[0]
    subject = Subject("2026", harvest.harvest, harvest.lots[0].id)
    pulls = [Pull(harvest, problem.as_of, "2026")]
    treatment = {"2026": treatments_of(problem, pulls).names("2026", problem.yard.units)}
    hive = Subject("2026", hive="north")
    both = {subject: pulls, hive: pulls}
    names = names_by_subject(problem.yard, problem.rules.trade, dict.fromkeys(both, problem.season), both, {}, treatment, hives={hive: "north"})
    return names[hive] | names[subject]


@pytest.mark.parametrize("variable", sorted(NAMES.keys() - {"batch"}))
def test_a_variable_has_the_fields_the_check_knows_and_of_the_same_kind(variable: str) -> None:
    """A name that the check lets pass is there when a plan is made, as a number, a word or yes or no."""
    found = seen()[variable]
    assert found.keys() == NAMES[variable].keys()
    for field, name in NAMES[variable].items():
        assert type(found[field]) is type(name.sample) or (name.may_be_unknown and found[field] is None)


def test_each_name_says_what_it_measures_and_is_in_the_list() -> None:
    """A dimension of a quantity, a word, or yes or no; `rules list --names` prints a sentence of each."""
    measures = {name.measures for fields in NAMES.values() for name in fields.values()}
    assert measures <= {*dimensions(), "word", "yes or no"}
    listed = CliRunner().invoke(main, ["rules", "list", "--names"]).output.splitlines()
    assert "lot.moisture    The water in its honey, once it was read. (share, or unknown)" in listed
    assert 'lot.jars    Jars that its extracted honey fills. (count)  Said: "jars"; "the lot\'s jars"' in listed
    assert len(listed) == sum(map(len, NAMES.values()))


def test_nothing_said_of_what_is_always_known_is_a_fault_of_the_program() -> None:
    """Each name that a plan leaves out is unknown, takes its default, or stops here."""
    assert filled("freezer", {}) == {"temperature": None, "space": None, "air": "still", "rated": None, "surface": None, "error": None, "stowed": ""}
    with pytest.raises(ValueError, match="room: nothing is said of temperature, humidity"):
        filled("room", {})
