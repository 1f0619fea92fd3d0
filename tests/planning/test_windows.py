"""When hands-on work may lie: free hours, dusk, seasons and temperatures as stretches of moments. The yards are invented."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from scheduler.facts.days import read_span
from scheduler.facts.yard import Yard, read_yard
from scheduler.planning.windows import OpenWhen, Windows
from tests.planning.whole import yard_text

TUESDAY, SATURDAY = date(2026, 8, 11), date(2026, 8, 15)
DUSK = OpenWhen(sun=("dusk", -1800, 3600))  # from half an hour before until an hour after
MONTHS = {"march": (12, 2), **dict.fromkeys(("january", "february", "december"), (4, -3)), **dict.fromkeys(("april", "october", "november"), (14, 6))}
MONTHS |= dict.fromkeys(("may", "june", "july", "august", "september"), (24, 14))


def yard(latitude: float = 46.31, longitude: float = 14.18, timezone: str = "Europe/Ljubljana", hands: str = "", normals: bool = False) -> Yard:
    """Free on weekdays from 17:30 to 21:30 and at weekends from 08:00 to 20:00; Ash is free on Saturday morning. Robbing from 25 July to 15 October."""
    text = yard_text(latitude=latitude, longitude=longitude, timezone=timezone)
    text = text.replace("room:", 'people: {Ash: {hands: {sat: "09:00-13:00"}, takes: [pack]}}\nroom:', 1)
    if hands:
        text = text.replace('{mon-fri: "17:30-21:30", sat-sun: "08:00-20:00"}', hands)
    if normals:
        text += "normals:\n" + "".join(f"  {month}: {{day: {day} °C, night: {night} °C}}\n" for month, (day, night) in MONTHS.items())
    return read_yard(text.encode(), "yard.yaml")


def stretches(windows: Windows, key: str | None) -> list[str]:
    """The stretches of a calendar in local time, the day of the month with each."""
    assert key is not None
    calendar, i, found = windows.calendars[key], 0, list[str]()
    while calendar.has(i):
        ends = (datetime.fromtimestamp(moment, windows.zone) for moment in (calendar.starts[i], calendar.ends[i]))
        found.append(" to ".join(f"{end.day} {end:%H:%M}" for end in ends))
        i += 1
    return found


def opened(place: Yard, first: date, *cards: OpenWhen, hours: str = "any", person: str | None = None, last: date | None = None) -> list[str]:
    """Where a card with these windows may lie from a day on."""
    windows = Windows(place, place.season, first, last or first)
    return stretches(windows, windows.calendar(cards, hours, person))


def test_without_windows_work_lies_in_free_hours_or_anywhere() -> None:
    """A weekday evening, a Saturday, and Ash's Saturday; what takes no free hours is not bound at all."""
    assert opened(yard(), TUESDAY, hours="free") == ["11 17:30 to 11 21:30"]
    assert opened(yard(), TUESDAY, hours="free", person="Ash") == []
    assert opened(yard(), SATURDAY, hours="free", person="Ash") == ["15 09:00 to 15 13:00"]
    assert Windows(yard(), yard().season, TUESDAY, SATURDAY).calendar((), "any") is None


def test_slack_keeps_the_end_of_each_evening_free() -> None:
    """With 20 minutes of slack work ends at ten past nine, but the evening, by which a plan moves, ends as it did; less than the slack is none."""
    place = yard().model_copy(update={"slack": 1200.0})
    assert opened(place, TUESDAY, hours="free") == ["11 17:30 to 11 21:10"]
    assert opened(place, TUESDAY, DUSK, hours="free") == ["11 20:25 to 11 21:10"]
    windows = Windows(place, place.season, TUESDAY, TUESDAY)
    assert [datetime.fromtimestamp(end, windows.zone).hour for _, end in windows.evenings()] == [21]
    assert not opened(place.model_copy(update={"slack": 4 * 3600.0}), TUESDAY, hours="free")


def test_every_day_from_the_first_to_the_last_is_there_and_no_other() -> None:
    """From Friday to Monday, both counted."""
    expected = ["14 17:30 to 14 21:30", "15 08:00 to 15 20:00", "16 08:00 to 16 20:00", "17 17:30 to 17 21:30"]
    assert opened(yard(), date(2026, 8, 14), hours="free", last=date(2026, 8, 17)) == expected


def test_an_evening_may_end_on_the_next_day() -> None:
    """Free from ten at night until two in the morning; and all of a Saturday."""
    assert opened(yard(hands='{mon-fri: "22:00-02:00"}'), TUESDAY, hours="free") == ["11 22:00 to 12 02:00"]
    assert opened(yard(hands='{sat: "00:00-24:00"}'), SATURDAY, hours="free") == ["15 00:00 to 16 00:00"]


# civil dusk by the library skyfield on the JPL ephemeris DE421, as in tests/estimates/CHECKS.md
@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "day", "dusk", "expected"),
    [
        (44.98, -93.27, "America/Chicago", date(2025, 9, 15), "2025-09-16T00:52:37", "15 19:25 to 15 20:50"),
        (51.5, -0.1, "Europe/London", date(2025, 6, 21), "2025-06-21T21:09:11", "21 21:40 to 21 23:05"),
        (-33.87, 151.21, "Australia/Sydney", date(2025, 9, 15), "2025-09-15T08:11:30", "15 17:45 to 15 19:10"),
        (60.17, 24.94, "Europe/Helsinki", date(2025, 6, 21), "2025-06-21T21:42:21", "22 00:15 to 22 01:40"),
    ],
)
def test_supers_are_given_back_about_dusk_on_whole_five_minutes_within(
    latitude: float, longitude: float, zone: str, day: date, dusk: str, expected: str
) -> None:
    """Half an hour before dusk rounded up, an hour after it rounded down; in a northern summer dusk is after midnight."""
    place = yard(latitude, longitude, zone)
    assert opened(place, day, DUSK) == [expected]
    computed = datetime.fromisoformat(dusk).replace(tzinfo=UTC).timestamp()
    assert Windows(place, place.season, day, day).sun(day, "dusk") == pytest.approx(computed, abs=10)


def test_dusk_within_free_hours_is_where_both_hold() -> None:
    """Near Minneapolis on a Monday in September dusk is at 19:52: free hours end it at 20:00, begin it at 19:30, or leave nothing of it."""
    assert opened(yard(44.98, -93.27, "America/Chicago"), date(2025, 9, 15), DUSK, hours="free") == ["15 19:25 to 15 20:50"]
    for free, expected in (("17:30-20:00", ["15 19:25 to 15 20:00"]), ("17:30-19:25", []), ("19:30-20:50", ["15 19:30 to 15 20:50"]), ("20:50-22:00", [])):
        assert opened(yard(44.98, -93.27, "America/Chicago", f'{{mon-fri: "{free}"}}'), date(2025, 9, 15), DUSK, hours="free") == expected


def test_a_clock_beside_the_sun_leaves_what_both_allow() -> None:
    """About dusk, but not after half past eight."""
    place = yard(44.98, -93.27, "America/Chicago")
    assert opened(place, date(2025, 9, 15), OpenWhen(sun=("dusk", -1800, 3600), clock=(time(18), time(20, 30)))) == ["15 19:25 to 15 20:30"]
    assert opened(place, date(2025, 9, 15), OpenWhen(sun=("dusk", -1800, 3600), clock=(time(20), time(22)))) == ["15 20:00 to 15 20:50"]
    assert opened(place, date(2025, 9, 15), OpenWhen(sun=("dusk", -1800, 3600), clock=(time(6), time(9)))) == []


def test_a_window_that_ends_before_it_begins_is_shut() -> None:
    """Within one rounding of the sun there is no time left."""
    assert opened(yard(), TUESDAY, OpenWhen(sun=("dusk", 0, 60))) == []
    assert opened(yard(), TUESDAY, OpenWhen(sun=("dusk", 3600, -3600))) == []


def test_where_there_is_no_dusk_sunset_stands_in_and_where_there_is_none_ten_o_clock() -> None:
    """At 61.5° north civil twilight lasts all night at midsummer; in Tromsø the sun does not set from May to July, and in December it does not rise."""
    tampere, tromso, midsummer = yard(61.5, 23.76, "Europe/Helsinki"), yard(69.65, 18.96, "Europe/Oslo"), date(2025, 6, 21)
    assert opened(tampere, midsummer, DUSK) == opened(tampere, midsummer, OpenWhen(sun=("sunset", -1800, 3600)))
    assert opened(tampere, TUESDAY, DUSK) != opened(tampere, TUESDAY, OpenWhen(sun=("sunset", -1800, 3600)))
    assert opened(tampere, midsummer, OpenWhen(sun=("dawn", 0, 3600))) == opened(tampere, midsummer, OpenWhen(sun=("sunrise", 0, 3600)))
    assert opened(tromso, midsummer, DUSK) == ["21 21:30 to 21 23:00"]
    assert opened(tromso, date(2025, 12, 21), OpenWhen(sun=("sunset", -1800, 3600))) == ["21 21:30 to 21 23:00"]


def test_what_stands_in_for_the_sun_is_said() -> None:
    """Another event where it comes, else the clock time; nothing where the event itself comes."""
    day = date(2025, 6, 21)
    tampere, tromso = (Windows(place, place.season, day, day) for place in (yard(61.5, 23.76, "Europe/Helsinki"), yard(69.65, 18.96, "Europe/Oslo")))
    assert tampere.stand_in(day, "dusk") == "sunset"
    assert tampere.stand_in(day, "dawn") == "sunrise"
    assert tampere.stand_in(day, "sunset") is None
    assert tampere.stand_in(TUESDAY, "dusk") is None
    assert tromso.stand_in(day, "dusk") == tromso.stand_in(day, "sunset") == time(22)


def test_wall_clock_windows_pass_midnight_and_a_whole_day_is_a_day() -> None:
    """An end that is not after its beginning lies on the next day."""
    assert opened(yard(), TUESDAY, OpenWhen(clock=(time(8), time(12)))) == ["11 08:00 to 11 12:00"]
    assert opened(yard(), TUESDAY, OpenWhen(clock=(time(20), time(2)))) == ["11 20:00 to 12 02:00"]
    assert opened(yard(), TUESDAY, OpenWhen(clock=(time(8), time(8)))) == ["11 08:00 to 12 08:00"]


@pytest.mark.parametrize(("day", "hours"), [(date(2026, 3, 28), 24), (date(2026, 3, 29), 23), (date(2026, 10, 25), 25)])
def test_a_day_is_as_long_as_its_clocks_make_it(day: date, hours: int) -> None:
    """Clocks in Ljubljana go forward on 29 March 2026 and back on 25 October; four hours on the wall are three or five then."""
    windows = Windows(yard(hands='{every day: "01:00-05:00"}'), yard().season, day, day)
    for key, expected in ((windows.calendar((OpenWhen(days=(-60.0, None)),), "any"), hours), (windows.calendar((), "free"), hours - 20)):
        assert key is not None
        calendar = windows.calendars[key]
        assert calendar.has(0)
        assert calendar.ends[0] - calendar.starts[0] == expected * 3600


def test_a_time_that_the_clocks_skip_counts_on_from_before_it() -> None:
    """From 02:30, which 29 March 2026 does not have, is from 03:30."""
    assert opened(yard(), date(2026, 3, 29), OpenWhen(clock=(time(2, 30), time(4)))) == ["29 03:30 to 29 04:00"]


def test_inside_and_outside_the_robbing_season_count_its_first_and_its_last_day() -> None:
    """25 July to 15 October, both ends: a hive is opened at noon outside it only."""
    noon = (time(11), time(14))
    days = [date(2026, 7, 24), date(2026, 7, 25), date(2026, 9, 1), date(2026, 10, 15), date(2026, 10, 16)]
    assert [bool(opened(yard(), day, OpenWhen(clock=noon, inside="robbing"))) for day in days] == [False, True, True, True, False]
    assert [bool(opened(yard(), day, OpenWhen(clock=noon, outside="robbing"))) for day in days] == [True, False, False, False, True]


def test_a_season_that_comes_every_year_is_found_in_each() -> None:
    """From one robbing season into the next, and between them none."""
    place = yard()
    windows = Windows(place, place.season, date(2026, 1, 1), date(2028, 1, 1))
    asked = [date(2026, 1, 1), date(2026, 7, 25), date(2026, 12, 1), date(2027, 7, 24), date(2027, 10, 15), date(2027, 10, 16)]
    assert [windows.in_span("robbing", day) for day in asked] == [False, True, False, False, True, False]


def test_days_and_nights_of_a_temperature_are_those_of_the_normals() -> None:
    """Normals hold in the middle of a month: 16 March is 12 °C by day, 2 °C by night and 7 °C on the mean, and a limit that is just met is met."""
    place, middle = yard(normals=True), date(2026, 3, 16)
    for days, nights, is_open in (
        ((12.0, None), (None, None), True),
        ((12.1, None), (None, None), False),
        ((None, 12.0), (None, None), True),
        ((None, 11.9), (None, None), False),
        ((None, None), (2.0, None), True),
        ((None, None), (2.1, None), False),
        ((None, None), (None, 2.0), True),
        ((None, None), (None, 1.9), False),
        ((10.0, 14.0), (None, 0.0), False),
    ):
        assert bool(opened(place, middle, OpenWhen(days=days, nights=nights))) is is_open
    assert [bool(opened(place, middle, OpenWhen(means=limits))) for limits in ((7.0, None), (7.1, None), (None, 7.0), (None, 6.9))] == [
        True,
        False,
        True,
        False,
    ]


def test_a_yard_without_normals_is_not_kept_from_work_by_the_weather() -> None:
    """The card's words tell the keeper to look at the thermometer."""
    assert opened(yard(), TUESDAY, OpenWhen(days=(40.0, None))) == ["11 00:00 to 12 00:00"]


def test_any_of_several_windows_will_do_and_where_they_touch_they_are_one() -> None:
    """Morning, noon and evening; one is met with each stretch of free hours."""
    morning, noon, evening = (OpenWhen(clock=(time(a), time(b))) for a, b in ((6, 9), (9, 14), (18, 22)))
    assert opened(yard(), SATURDAY, evening, noon, morning) == ["15 06:00 to 15 14:00", "15 18:00 to 15 22:00"]
    assert opened(yard(), SATURDAY, noon, OpenWhen(clock=(time(10), time(11)))) == ["15 09:00 to 15 14:00"]
    assert opened(yard(), SATURDAY, evening, noon, morning, hours="free") == ["15 08:00 to 15 14:00", "15 18:00 to 15 20:00"]
    assert opened(yard(hands='{sat: "07:00-09:00"}'), SATURDAY, evening, noon, hours="free") == []
    two = yard(hands='{sat: "07:00-10:00, 13:00-19:00"}')
    assert opened(two, SATURDAY, evening, noon, hours="free") == ["15 09:00 to 15 10:00", "15 13:00 to 15 14:00", "15 18:00 to 15 19:00"]
    assert opened(two, SATURDAY, noon, OpenWhen(clock=(time(8), time(9)), outside="robbing"), hours="free") == ["15 09:00 to 15 10:00", "15 13:00 to 15 14:00"]


def test_cards_with_the_same_windows_share_a_calendar_and_others_do_not() -> None:
    """Windows, free or any hours, and the person."""
    place = yard()
    windows = Windows(place, place.season, TUESDAY, SATURDAY)
    keys = [windows.calendar((DUSK,), hours, person) for hours in ("free", "any") for person in (None, "Ash")]
    assert len({*keys, windows.calendar((), "free")}) == 5
    assert windows.calendar((DUSK,), "free", "Ash") == keys[1]
    assert len(windows.calendars) == 5


def test_a_day_kept_free_changes_that_day_of_that_person_and_no_other() -> None:
    """The keeper takes the Wednesday off; Ash's calendar and the evenings around it are as they were."""
    place = yard()
    windows = Windows(place, place.season, TUESDAY, SATURDAY)
    mine, ashs = windows.calendar((), "free"), windows.calendar((), "free", "Ash")
    before = stretches(windows, mine)
    freed = windows.freed(date(2026, 8, 12), ((time(7), time(22)),))
    assert stretches(freed, mine) == ["12 07:00 to 12 22:00" if text.startswith("12 ") else text for text in before]
    assert stretches(freed, ashs) == stretches(windows, ashs) == ["15 09:00 to 15 13:00"]
    assert stretches(windows, mine) == before
    other = windows.freed(date(2026, 8, 12), ((time(7), time(22)),), "Ash")
    assert stretches(other, mine) == before
    assert stretches(other, ashs) == ["12 07:00 to 12 22:00", "15 09:00 to 15 13:00"]
    assert place.hours_of("Ash").spans(date(2026, 8, 12)) == ()


def test_an_evening_is_the_free_hours_of_all_who_work_in_the_yard() -> None:
    """From Friday to Saturday; Ash's morning lies within the keeper's day."""
    place, zone = yard(), ZoneInfo("Europe/Ljubljana")
    windows = Windows(place, place.season, date(2026, 8, 14), SATURDAY)
    found = [" to ".join(f"{datetime.fromtimestamp(moment, zone):%d %H:%M}" for moment in span) for span in windows.evenings()]
    assert found == ["14 17:30 to 14 21:30", "15 08:00 to 15 20:00"]


def test_days_of_ones_own_come_every_year_and_run_over_its_turn() -> None:
    """From 20 December to 6 January: not on the first day after, and again the next winter."""
    holidays = read_span("20 December to 6 January")
    windows = Windows(yard(), yard().season, date(2026, 12, 18), date(2027, 1, 8))
    inside, outside = (stretches(windows, windows.calendar((one,), "any")) for one in (OpenWhen(inside=holidays), OpenWhen(outside=holidays)))
    assert (inside, outside) == (["20 00:00 to 7 00:00"], ["18 00:00 to 20 00:00", "7 00:00 to 9 00:00"])
    assert windows.in_span(holidays, date(2028, 1, 6))
    assert not windows.in_span(holidays, date(2028, 1, 7))


def test_daylight_is_from_sunrise_to_sunset_and_all_day_where_neither_comes() -> None:
    """At the equinox it lasts some twelve hours everywhere; north of the Arctic Circle the sun does not set in June. The yards are invented."""
    light = OpenWhen(daylight=True)
    (spring,) = opened(yard(latitude=0.5, longitude=0.0, timezone="UTC"), date(2026, 3, 20), light)
    begins, ends = (datetime.strptime(part.split()[1], "%H:%M") for part in spring.split(" to "))  # noqa: DTZ007 - hours of one day
    assert abs((ends - begins).total_seconds() - 12 * 3600) <= 15 * 60
    assert opened(yard(latitude=69.65, longitude=18.95, timezone="Europe/Oslo"), date(2026, 6, 20), light) == ["20 00:00 to 21 00:00"]
    assert opened(yard(hands="{daily: '04:00-23:00'}"), TUESDAY, light, hours="free") == opened(yard(), TUESDAY, light)
