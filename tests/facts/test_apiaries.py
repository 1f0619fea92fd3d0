"""Where hives stand when that is at several places, and in which of them a harvest was pulled. All invented."""

from __future__ import annotations

import re

import pytest

from scheduler.diagnostics import Fault, Refused
from scheduler.facts.apiaries import apiary_of, slug
from scheduler.facts.harvest import Harvest, pulled_in, read_harvest
from scheduler.facts.yard import Yard, read_yard
from tests.planning.whole import yard_text

TWO = """
apiaries:
  Garden: {travel: 0 min, hives: [plum, pear]}
  Over Fell: {place: {latitude: 46.9, longitude: 14.7}, travel: 50 min, hives: [rowan, larch], season: {first frost: 20 September}}
"""


def yard(apiaries: str = TWO) -> Yard:
    """Free on weekday evenings for four hours, and at weekends for twelve."""
    return read_yard((yard_text() + apiaries).encode(), "yard.yaml")


def harvest(said: str, place: Yard, as_of: int | None = None) -> Harvest:
    """Of a Tuesday in August 2026."""
    text = f"harvest: tuesday\npulled: 2026-08-11T10:30\n{said}\nlots: [{{id: a, kind: extracted, frames: 9, frame: medium}}]\n"
    return read_harvest(text.encode(), "tuesday.yaml", place, as_of)


def test_an_apiary_has_its_own_place_and_season_and_shares_the_rest() -> None:
    """Over the fell the first frost comes in September; its robbing season, and the freezer, are those of the yard."""
    place = yard()
    there = place.at("Over Fell")
    assert (there.place.latitude, there.place.timezone) == (46.9, place.place.timezone)
    assert str(there.season.usual("first frost")) != str(place.season.usual("first frost"))
    assert (there.season.robbing, there.equipment) == (place.season.robbing, place.equipment)
    assert place.at("Garden").place == place.place
    assert place.at(None) is place
    assert (place.travel("Over Fell"), place.travel("Garden"), place.travel(None)) == (3000, 0, 0)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("{store: {travel: 5 min, hives: [a]}}", '"store" means something else already'),
        ("{Apiary: {travel: 5 min, hives: [a]}}", '"Apiary" means something else already'),
        ("{honey room: {travel: 5 min, hives: [a]}}", '"honey room" means something else already'),
        ("{anywhere: {travel: 5 min, hives: [a]}}", '"anywhere" means something else already'),
        ("{Hill: {travel: 5 min, hives: [a, b]}, Mill: {travel: 5 min, hives: [b]}}", 'the hive "b" stands in Hill already'),
        ("{Hill: {travel: 5 min, hives: [a]}, hill!: {travel: 5 min, hives: [b]}}", '"hill!" and "Hill" look alike'),
        ("{Hill: {travel: 5 min, hives: [Hill]}}", '"Hill" is the name of an apiary too'),
        ("{Гора: {travel: 5 min, hives: [a]}}", 'no letter of "Гора" can stand in the id of a task'),
        ("{Hill: {travel: 6 h, hives: [a]}}", "the way there and back takes 12 h, and no span of free hours is longer than 12 h"),
        ("{Hill: {travel: 7 h, hives: [a]}}", '"7 h" is not possible'),
        ("{Hill: {hives: [a]}}", "travel"),
        ("{Hill: {travel: 5 min, place: {latitude: 46, longitude: 14, timezone: Europe/Lisbon}, hives: [a]}}", "is another time zone than the yard's"),
    ],
)
def test_what_cannot_be_is_refused_in_words(written: str, said: str) -> None:
    """Names that mean something else, a hive in two places, two clocks in one plan, a way that takes longer than anybody is free."""
    with pytest.raises(Refused, match=re.escape(said)):
        yard(f"apiaries: {written}\n")


def test_a_harvest_is_of_the_apiary_of_its_hives_or_of_the_one_it_names() -> None:
    """Hives that stand in one apiary say it; a mere number of hives does not, and one that nobody named yet neither."""
    place = yard()
    assert pulled_in(harvest("hives: [rowan]", place, 1786500000), place) == "Over Fell"
    assert pulled_in(harvest("hives: 3\nat: Garden", place, 1786500000), place) == "Garden"
    assert pulled_in(harvest("hives: [rowan, new]\nat: Over Fell", place, 1786500000), place) == "Over Fell"
    assert pulled_in(harvest("hives: [north]", yard("")), yard("")) is None


@pytest.mark.parametrize(
    ("said", "told", "write"),
    [
        ("hives: [plum, rowan]", "the hives are of several apiaries: plum of Garden and rowan of Over Fell", "harvest: tuesday-over-fell, hives: [rowan]"),
        ("hives: [plum]\nat: Over Fell", "the hives are of several apiaries: plum of Garden and no hive of Over Fell", "at: Garden"),
        ("hives: 3", "no apiary has the hive hive 1, hive 2, hive 3", "at: Garden or at: Over Fell"),
        ("hives: []", "it does not say in which apiary it was pulled", "at: Garden or at: Over Fell"),
        ("hives: [plum, new]", "no apiary has the hive new", "or the hive under that apiary in the yard file"),
        ("at: Garten", 'the yard has no apiary "Garten"', "Garden"),
    ],
)
def test_where_it_is_not_clear_it_is_refused_and_says_what_to_write(said: str, told: str, write: str) -> None:
    """As it is logged: a harvest of two apiaries is split, for each has its own dusk. Logged before the apiaries were named it is the yard's own."""
    with pytest.raises(Refused, match=re.escape(told)) as refused:
        harvest(said, yard(), 1786500000)
    assert write in str(refused.value)
    assert pulled_in(harvest(said, yard()), yard()) is None


def test_a_harvest_names_no_apiary_where_the_yard_has_none() -> None:
    """It would be heard by nobody."""
    with pytest.raises(Refused, match="names no apiary"):
        harvest("at: Garden", yard(""), 1786500000)


def test_the_name_in_an_id_is_of_plain_letters() -> None:
    """What ledgers and calendars hold has no sign that they could take otherwise."""
    assert [slug(name) for name in ("Over Fell", "Ödhof 2", "  Hill!! ")] == ["over-fell", "odhof-2", "hill"]
    assert slug("Гора") == ""
    with pytest.raises(Fault, match='no apiary "Hill"'):
        apiary_of("Hill", (), {}, "x")
