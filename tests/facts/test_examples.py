"""The bundled examples are sound, marked as invented, and differ in what they show."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.facts.harvest import Harvest, check_against, read_harvest
from scheduler.facts.yard import Yard, read_yard

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
YARDS = sorted(path.name for path in EXAMPLES.iterdir() if path.is_dir())


def read_example(name: str) -> tuple[Yard, list[Harvest]]:
    """One example's yard with its harvests."""
    place = read_yard((EXAMPLES / name / "yard.yaml").read_bytes(), f"{name}/yard.yaml")
    files = sorted(path for path in (EXAMPLES / name).glob("*.yaml") if path.name != "yard.yaml")
    return place, [read_harvest(path.read_bytes(), path.name, place) for path in files]


@pytest.mark.parametrize("name", YARDS)
def test_an_example_is_read_without_a_fault(name: str) -> None:
    """Its harvests are named like their files and were pulled at times that exist."""
    place, harvests = read_example(name)
    assert harvests
    assert {harvest.harvest for harvest in harvests} == {path.stem for path in (EXAMPLES / name).glob("*.yaml")} - {"yard"}
    assert all(check_against(harvest, place) == [] for harvest in harvests)


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.yaml")), ids=lambda path: path.stem)
def test_an_example_says_that_it_is_invented(path: Path) -> None:
    """In its first line."""
    assert path.read_text(encoding="utf-8").startswith("# INVENTED: ")


@pytest.mark.parametrize("name", YARDS)
def test_an_example_shows_varied_lots(name: str) -> None:
    """Comb to cut with some pieces for jars, honey to extract, dry comb."""
    lots = [lot for harvest in read_example(name)[1] for lot in harvest.lots]
    assert {"cut comb", "extracted", "dry comb"} <= {lot.kind for lot in lots}
    assert any(lot.kind == "cut comb" and lot.imperfect > 0 for lot in lots)


def test_the_examples_are_of_both_hemispheres_and_both_systems_of_units() -> None:
    """And all give the temperatures of their year."""
    places = [read_example(name)[0] for name in YARDS]
    assert {place.place.latitude > 0 for place in places} == {True, False}
    assert {place.units for place in places} == {"metric", "us"}
    assert all(place.normals for place in places)
