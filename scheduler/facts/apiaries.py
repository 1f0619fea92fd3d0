"""Where the hives of one keeper stand, when that is at more than one place: each apiary's place, way, hives, and what of its season differs.

    apiaries:
      Home: {travel: 0 min, hives: [north, ridge]}
      Karst: {place: {latitude: 45.7, longitude: 14.2}, travel: 50 min, hives: [k1, k2], season: {first frost: 28 September}}

Freezer, honey room and free hours are shared. All lie in one time zone, that of the yard: one plan has one clock.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from scheduler.diagnostics import Fault, instead
from scheduler.documents import Record
from scheduler.facts.season import Normals, Season
from scheduler.facts.values import Loc, Names, Text, between, number_between

KEPT = ("honey room", "apiary", "store", "anywhere", "house", "all", "yard", "keeper")  # words that mean something else where an apiary is named
MOST_TRAVEL = "6 h"  # one way; more is a journey with a night away, and no evening's work


class Spot(Record):
    """Where an apiary lies: decimal degrees, north and east positive. A time zone need not be written; another than the yard's is refused."""

    latitude: Annotated[float, number_between(-90, 90, "latitude")]
    longitude: Annotated[float, number_between(-180, 180, "longitude")]
    timezone: Text | None = None


def _written_yet(value: Any) -> Any:
    return {} if value is None else value


class Apiary(Record):
    """One apiary: where it lies (None: where the yard does), how long the way from the honey room takes [s], its hives, and what differs there."""

    place: Spot | None = None
    travel: Annotated[float, between("duration", "0 min", MOST_TRAVEL, "; it is the way there, one way")]
    hives: Names
    season: Annotated[Season, BeforeValidator(_written_yet, json_schema_input_type=Season | None)] = Field(default_factory=Season)
    normals: Normals | None = None


def slug(name: str) -> str:
    """An apiary's name as part of an id: "Upper Karst" is "upper-karst"; empty where no letter or digit of it can stand there."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")


def unclear(apiaries: Mapping[str, Apiary], timezone: str, people: Iterable[str], longest: float) -> Iterator[tuple[Loc, Any, Fault]]:
    """What cannot be so: names that mean something else, a hive in two apiaries, another time zone, a way that no span of free hours [s] takes."""
    slugs: dict[str, str] = {}
    of_hive: dict[str, str] = {}
    people = {name.lower() for name in people}
    for name, one in apiaries.items():
        at: Loc = ("apiaries", name)
        if name.lower() in KEPT or name.lower() in people:
            yield at, name, Fault(f'"{name}" means something else already', "the name that the place has, such as Karst")
        if not slug(name):
            yield at, name, Fault(f'no letter of "{name}" can stand in the id of a task', "a name with letters from a to z or digits")
        elif slug(name) in slugs:
            yield at, name, Fault(f'"{name}" and "{slugs[slug(name)]}" look alike', "two names that differ in more than signs")
        slugs.setdefault(slug(name), name)
        if one.place and one.place.timezone not in (None, timezone):
            told = f"{one.place.timezone} is another time zone than the yard's, {timezone}, and one plan has one clock"
            yield (*at, "place", "timezone"), one.place.timezone, Fault(told, "a yard file and a ledger of its own for that apiary")
        if 2 * one.travel >= longest:
            told = f"the way there and back takes {2 * one.travel / 3600:.3g} h, and no span of free hours is longer than {longest / 3600:.3g} h"
            yield (*at, "travel"), name, Fault(told, 'a longer span on some day under hands, such as {sat: "08:00-20:00"}')
        for i, hive in enumerate(one.hives):
            if hive in of_hive:
                yield (*at, "hives", i), hive, Fault(f'the hive "{hive}" stands in {of_hive[hive]} already', "each hive in one apiary")
            if hive in apiaries:
                yield (*at, "hives", i), hive, Fault(f'"{hive}" is the name of an apiary too', "another name for the hive")
            of_hive.setdefault(hive, name)


def apiary_of(at: str | None, hives: Sequence[str], apiaries: Mapping[str, Apiary], harvest: str) -> str:
    """The apiary that a harvest was pulled in: by its word, else by its hives. Raises `Fault` where that is not clear."""
    if at is not None and at not in apiaries:
        raise Fault(f'the yard has no apiary "{at}"', instead(at, apiaries))
    homes = {hive: next((name for name, one in apiaries.items() if hive in one.hives), None) for hive in hives}
    found = list(dict.fromkeys(home for home in homes.values() if home))
    if len(found) > 1 or (at and found and found != [at]):
        names = list(dict.fromkeys([*found, *([at] if at else [])]))
        of = {name: [hive for hive in hives if homes[hive] == name] for name in names}
        said = " and ".join(f"{', '.join(of[name]) or 'no hive'} of {name}" for name in names)
        split = "; ".join(f"harvest: {harvest}-{slug(name)}, hives: [{', '.join(of[name])}]" for name in names if of[name])
        raise Fault(f"the hives are of several apiaries: {said}", f"a harvest for each, with its own lots: {split}" if len(found) > 1 else f"at: {found[0]}")
    if at is not None:
        return at
    unknown = [hive for hive in hives if homes[hive] is None]
    if not found or unknown:
        told = f"no apiary has the hive {', '.join(unknown)}" if unknown else "it does not say in which apiary it was pulled"
        raise Fault(told, " or ".join(f"at: {name}" for name in apiaries) + (", or the hive under that apiary in the yard file" if unknown else ""))
    return found[0]
