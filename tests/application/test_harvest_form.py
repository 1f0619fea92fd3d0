"""The form of a harvest: a name that is free, and lots that were chosen before those that were typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.application.harvest_form import harvest_values, lots_typed, next_name
from scheduler.application.ledger_view import view_at
from scheduler.application.refusals import AtField
from scheduler.application.tell import log
from scheduler.facts.fact import YardSet
from scheduler.facts.harvest import KINDS
from scheduler.ledger.store import Ledger
from tests.conftest import EXAMPLES, PULLED

LOTS = "hives: [north]\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n"


def test_what_was_chosen_comes_first_and_each_lot_knows_its_field() -> None:
    """A row that is left out is no lot; a comma is read as a point, and a sign of percent may stand."""
    form = {
        "kind2": "cut comb",
        "frames2": "5",
        "moisture2": "17,4 %",
        "kind3": "extracted",
        "frames3": "14",
        "frame3": "medium",
        "lots": "\ndry comb 3 deep\n",
    }
    assert lots_typed(form, KINDS) == [("cut comb 5 shallow 17.4%", "kind2"), ("extracted 14 medium", "kind3"), ("dry comb 3 deep", "lots")]


@pytest.mark.parametrize(
    ("form", "field"),
    [({}, "kind1"), ({"frames1": "5"}, "kind1"), ({"kind2": "cut comb"}, "frames2"), ({"kind2": "cut comb", "frames2": "5", "frame2": "tall"}, "frames2")],
)
def test_what_is_missing_is_said_of_its_field(form: dict[str, str], field: str) -> None:
    """Whatever a browser, or something else, sends."""
    with pytest.raises(AtField, match=r"\w") as refused:
        lots_typed(form, KINDS)
    assert refused.value.field == field


def test_the_next_name_counts_on_from_the_last_one_and_is_free(ledger: Ledger) -> None:
    """In the order in which they were logged; after one without a number, from the last that has one."""
    assert next_name(view_at(ledger, PULLED)) == "ridge-3"
    for name, then in (("fell-5", "fell-6"), ("fell-4", "fell-6"), ("meadow", "fell-6")):
        log(ledger, [(f"harvest: {name}\npulled: 2026-08-11T10:00\n{LOTS}".encode(), f"{name}.yaml")], PULLED)
        assert next_name(view_at(ledger, PULLED)) == then


def test_the_first_name_is_that_of_the_yard(tmp_path: Path) -> None:
    """Nothing has to be typed for it."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        ledger.append([YardSet(occurred_at=PULLED, text=(EXAMPLES / "yard.yaml").read_text(encoding="utf-8"), path="yard.yaml")], PULLED)
        assert harvest_values(view_at(ledger, PULLED), PULLED)["begin"] == {"name": "kestrel-bank-1", "pulled": "2026-08-11T10:30"}
