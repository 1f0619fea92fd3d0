"""The clocks of a calendar file are the clocks at the yard, in every zone of the tz database."""

from __future__ import annotations

from bisect import bisect_right
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

import pytest
from dateutil.rrule import rrulestr
from icalendar import Timezone

from scheduler.outputs.calendar.vtimezone import vtimezone
from tests.outputs.calendar.zones import HARD, explicit


def onsets(component: Timezone, until: datetime) -> list[tuple[datetime, timedelta]]:
    """Each observance's onsets in UTC with the offset after them, read as RFC 5545 section 3.6.5 says: local time by TZOFFSETFROM."""
    found = []
    for part in component.subcomponents:
        before, after, first = part["TZOFFSETFROM"].td, part["TZOFFSETTO"].td, part["DTSTART"].dt
        rule = part.get("RRULE")
        walls = rrulestr(rule.to_ical().decode(), dtstart=first).between(first, until, inc=True) if rule else [first]
        found += [(wall - before, after) for wall in walls]
    return sorted(found)


@pytest.mark.slow
def test_every_zone_shows_the_time_of_the_tz_database_every_13_hours_of_three_years() -> None:
    """599 names, 2026 to 2028 and the two years after that a plan may reach into."""
    begin, end = datetime(2026, 1, 1), datetime(2030, 12, 31)  # noqa: DTZ001  UTC without a zone, for speed
    wrong = []
    for name in sorted(available_timezones()):
        zone, found = ZoneInfo(name), onsets(vtimezone(name, 2026, 2030), end)
        instants, moment = [instant for instant, _ in found], begin
        while moment < end:
            if found[bisect_right(instants, moment) - 1][1] != moment.replace(tzinfo=UTC).astimezone(zone).utcoffset():
                wrong.append((name, moment))
                break
            moment += timedelta(hours=13)
    assert wrong == []


def test_only_the_fourteen_hard_names_need_their_onsets_listed() -> None:
    """All others are a yearly rule, the one form that three independent readers got right."""
    assert {name for name in available_timezones() if explicit(name)} == set(HARD)


def test_the_onset_stands_in_the_offset_before_it() -> None:
    """RFC 5545 section 3.6.5, example of New York: DTSTART:20070311T020000 with TZOFFSETFROM:-0500, not 030000."""
    summer = next(
        part
        for part in vtimezone("America/New_York", 2007, 2007).subcomponents
        if (part.name == "DAYLIGHT" and "RRULE" in part) or part["DTSTART"].dt.year == 2007
    )
    assert summer["DTSTART"].dt.strftime("%H%M%S") == "020000"
    assert summer["TZOFFSETFROM"].to_ical() == "-0500"


def test_a_zone_whose_clocks_never_change_is_one_observance() -> None:
    """Kathmandu is five hours and 45 minutes ahead all year."""
    (part,) = vtimezone("Asia/Kathmandu", 2026, 2028).subcomponents
    assert part["TZOFFSETTO"].td == timedelta(hours=5, minutes=45)


def test_a_rule_that_changed_within_the_years_asked_for_is_listed_onset_by_onset() -> None:
    """The United States moved their changes in 2007: a yearly rule for 2005 to 2009 would be wrong at one end."""
    found = onsets(vtimezone("America/New_York", 2006, 2008), datetime(2009, 1, 1))  # noqa: DTZ001
    springs = [instant for instant, after in found if after == timedelta(hours=-4)]
    assert datetime(2006, 4, 2, 7) in springs  # noqa: DTZ001  first Sunday of April until 2006
    assert datetime(2007, 3, 11, 7) in springs  # noqa: DTZ001  second Sunday of March from 2007


def test_an_unknown_zone_is_refused() -> None:
    """A zone is one of the tz database's names."""
    with pytest.raises(ZoneInfoNotFoundError, match="Europe/Kestrel"):
        vtimezone("Europe/Kestrel", 2026, 2026)
