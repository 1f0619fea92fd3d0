"""What lies behind the picture of the weeks ahead: nights, robbing season, marks, freezers and what is reserved in them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.estimates.sun import sun_event
from scheduler.facts.season import DEARTH, MARKS, Season
from scheduler.facts.yard import Yard
from scheduler.local_time import DAY
from scheduler.outputs.pictures.season import Behind

AHEAD = 330 * DAY  # how far a picture reaches [s]
NIGHTS = 16  # nights that are drawn


def behind(yard: Yard, season: Season, as_of: int) -> Behind:
    """From the yard and its season as known at a moment [s since 1970]."""
    zone = ZoneInfo(yard.place.timezone)
    today = datetime.fromtimestamp(as_of, zone).date()
    last = today + timedelta(seconds=AHEAD)

    def midnight(day: date) -> int:
        return int(datetime.combine(day, time(0), zone).timestamp())

    robbing = season.spans(DEARTH, today, last) if season.knows(DEARTH) else ()
    marks = [(name, found[0]) for name in MARKS if season.knows(name) and (found := season.mark(name, today))]
    return Behind(
        nights=tuple(_nights(yard, today)),
        robbing=tuple((midnight(begins), midnight(ends + timedelta(1))) for begins, ends in robbing),
        marks=tuple((name, midnight(day)) for name, day in marks if day <= last),
        freezers=tuple((name, one.space) for name, one in yard.freezers.items() if one.space),
        reserved=tuple(
            (one.equipment, midnight(one.from_), midnight(one.to + timedelta(1)), one.amount, one.for_)
            for one in yard.reserved
            if one.equipment in yard.freezers
        ),
    )


def _nights(yard: Yard, today: date) -> Iterator[tuple[int, int]]:
    """From dusk to dawn, where there is either."""
    place = yard.place
    for day in (today + timedelta(number) for number in range(-1, NIGHTS)):
        dusk = sun_event(place.latitude, place.longitude, day, "dusk", place.timezone)
        dawn = sun_event(place.latitude, place.longitude, day + timedelta(1), "dawn", place.timezone)
        if dusk and dawn:
            yield int(dusk.timestamp()), int(dawn.timestamp())
