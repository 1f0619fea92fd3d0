"""What a yard file says fits the rules and the harvests, or is refused at its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.application.yard_check import misread_equipment, packages_too_large, work_known
from scheduler.estimates.callable_estimates import package_of
from scheduler.estimates.packing import package_volume
from scheduler.facts.harvest import Harvest, read_harvest
from scheduler.facts.yard import Yard, read_yard
from scheduler.rules.load import load
from tests.keeper import Keeper
from tests.planning.whole import yard, yard_text


def test_a_harvest_whose_pieces_fit_no_freezer_is_not_logged(ridge: Keeper, tmp_path: Path) -> None:
    """The freezer's place in the yard file is named."""
    yard = (ridge.folder / "yard.yaml").read_text(encoding="utf-8").replace("space: 90 L", "space: 0.2 L").replace("space: 60 L", "space: 0.1 L")
    (tmp_path / "yard.yaml").write_text(yard, encoding="utf-8")
    ridge.types("init", "--from", "yard.yaml")
    text = ridge.types("log", str(ridge.folder / "ridge-2.yaml"), refused=True)
    assert "yard.yaml:9:" in text
    assert "one packed piece of ridge-2/a takes" in text


TRADE = load().trade


def pull(place: Yard, kind: str = "cut comb") -> Harvest:
    """A lot of pieces 10 x 5 x 3 cm in bags."""
    lot = f"{{id: a, kind: {kind}, frames: 2, frame: shallow, piece: 100 x 50 mm, comb thickness: 30 mm}}"
    return read_harvest(f"harvest: w\npulled: 2026-08-11T10:30\nhives: [n]\nlots: [{lot}]\n".encode(), "w.yaml", place)


def test_a_piece_that_just_fits_is_no_fault() -> None:
    """The volume of its package to the last cubic centimetre, and a hair less; what needs no package fits anywhere."""
    roomy = yard()
    [lot] = pull(roomy).lots
    needed = package_volume(*lot.piece, lot.comb_thickness, package_of(lot.package, TRADE))
    for space, faults in ((needed * 1.000001, 0), (needed * 0.999, 1)):
        place = yard(space=f"{space * 1000:.9f}")
        assert len(packages_too_large(pull(place), place, TRADE)) == faults
        assert packages_too_large(pull(place, "extracted"), place, TRADE) == []


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("drain rack: {jars: 24}", "equipment > drain rack > jars: no card counts a drain rack in jars"),
        ("garage: {kind: freezer, temperature: -18 °C, boxes: 4}", "equipment > garage > boxes: no card counts a freezer in boxes"),
        ("drain rack: {pieces: 24}", None),
        ("garage: {kind: freezer, temperature: -18 °C, volume: 90 L}", None),
        ("steam box: {boxes: 4}", None),
    ],
)
def test_equipment_is_measured_as_the_cards_that_occupy_it_count(written: str, told: str | None) -> None:
    """A rack of 24 jars would be taken for one of 24 pieces, four boxes of freezer for four cubic metres."""
    rest = "\n".join(line for line in yard_text().splitlines() if not line.startswith("  drain rack"))
    found = list(misread_equipment(read_yard(rest.replace("equipment:", f"equipment:\n  {written}").encode(), "yard.yaml"), load()))
    assert [one.message for one in found] == ([told] if told else [])
    assert all(one.write and one.line > 1 for one in found)


def test_the_largest_freezer_counts() -> None:
    """And in a yard without one nothing is said here."""
    text = yard_text(space="0.1")
    both = read_yard(text.replace("  drain rack", "  garage freezer: {kind: freezer, temperature: -18 °C, space: 90 L}\n  drain rack").encode(), "yard.yaml")
    assert packages_too_large(pull(both), both, TRADE) == []
    none = read_yard("\n".join(line for line in text.splitlines() if not line.startswith("  freezer")).encode(), "yard.yaml")
    assert packages_too_large(pull(none), none, TRADE) == []


@pytest.mark.parametrize("word", ["pack", "cut comb/pack", "cut comb", "extracted", "apiary", "harvest"])
def test_work_is_taken_by_card_set_stream_or_place(word: str) -> None:
    """Each of them is known."""
    assert list(work_known(with_mira(f"[{word}]"), load())) == []


@pytest.mark.parametrize(
    ("people", "said"),
    [
        ("Mira: {hands: {sat: 09:00-13:00}, takes: [pak]}", 'no card, rule set, stream or place "pak"'),
        ("store: {hands: {sat: 09:00-13:00}, takes: []}", "is a rule set"),
    ],
)
def test_work_that_nobody_knows_and_a_name_that_means_something_else_are_refused(people: str, said: str) -> None:
    """At their place, with the nearest word."""
    [fault] = work_known(read_yard(f"{yard_text()}people:\n  {people}\n".encode(), "yard.yaml"), load())
    assert said in fault.message
    assert fault.line == yard_text().count("\n") + 2


def with_mira(takes: str) -> Yard:
    """A yard where Mira takes this work."""
    return read_yard(f"{yard_text()}people:\n  Mira: {{hands: {{sat: 09:00-13:00}}, takes: {takes}}}\n".encode(), "yard.yaml")
