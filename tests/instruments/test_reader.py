"""Every form is read as the one truth or refused, never misread; what cannot be told is refused with line, column and what to write."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import get_args
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from scheduler.instruments.columns import LOGS, Kind
from scheduler.instruments.reader import AsTold, MeasuredFile, measured
from scheduler.instruments.text import Unread, decoded
from tests.chance import times
from tests.instruments.forms import CLOCKS, DATES, FORMS, PLAIN, UNITS, YARD, Form, Rows, content, forms_of, told_of, truth

KINDS: tuple[Kind, ...] = get_args(Kind)
CASES = [(kind, name) for kind in KINDS for name in forms_of(kind)]


def form_of(kind: Kind, name: str) -> Form:
    """A form by its name, its unit as the kind has it."""
    form = FORMS[name]
    return replace(form, unit="lb") if kind == "scale" and form.unit == "F" else form


def read(kind: Kind, rows: Rows, form: Form, **more: object) -> MeasuredFile:
    """The file of some rows in a form, read."""
    text, _ = decoded(content(kind, rows, form))
    return measured(text, kind, YARD, told_of(kind, form), **more)  # type: ignore[arg-type]


def in_si(kind: Kind, rows: Rows, form: Form) -> Rows:
    """The truth: 1 lb is 0.45359237 kg, °C are (°F - 32) / 1.8."""
    unit = form.unit or UNITS[kind]
    convert = {"F": lambda value: (value - 32) / 1.8, "lb": lambda value: value * 0.45359237, "g": lambda value: value / 1000}.get(unit, float)
    return [(at, tuple(convert(value) for value in values)) for at, values in sorted(rows)]


def same(found: MeasuredFile, rows: Rows) -> bool:
    """Whether a file was read as it was meant, to the second and to a millionth."""
    return [at for at, _ in found.rows] == [at for at, _ in rows] and all(
        one is not None and abs(one - other) < 1e-6
        for (_, mine), (_, theirs) in zip(found.rows, rows, strict=True)
        for one, other in zip(mine, theirs, strict=True)
    )


def with_a_mend(refused: Unread) -> None:
    """A refusal says what to write."""
    assert refused.write


def test_there_are_forms_enough() -> None:
    """Forty at least of each kind."""
    assert all(len(forms_of(kind)) >= 40 for kind in KINDS)


@pytest.mark.parametrize(("kind", "name"), CASES)
def test_each_form_is_read_as_the_truth(kind: Kind, name: str) -> None:
    """No form of the list is refused either."""
    form, rows = form_of(kind, name), truth(kind)
    assert same(read(kind, rows, form), in_si(kind, rows, form))


any_form = st.builds(
    Form,
    delimiter=st.sampled_from([",", ";", "\t", "|"]),
    decimal=st.sampled_from([".", ","]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le"]),
    newline=st.sampled_from(["\n", "\r\n", "\r"]),
    date=st.sampled_from(list(DATES)),
    clock=st.sampled_from(list(CLOCKS)),
    join=st.sampled_from([" ", "T", "  "]),
    apart=st.booleans(),
    zone=st.sampled_from(["local", "Z", "offset", "name", "epoch", "epoch ms", "winter"]),
    unit_at=st.sampled_from(["name", "brackets", "row", "column", "cells", "before", "told", "nowhere"]),
    before=st.sampled_from([(), ("Logger 7",), ("Device: 7", "", "Started,2026-03-04 05:06"), ("Time,Place", "x,y")]),
    after=st.sampled_from([(), ("end of file",), ("", "END")]),
    sep=st.booleans(),
    order=st.sampled_from(["rising", "falling", "shuffled"]),
    twice=st.booleans(),
    quoted=st.booleans(),
    trailing=st.booleans(),
    empty=st.sampled_from([None, "", "--", "Err", "NaN"]),
    minus=st.sampled_from(["-", "−"]),
    beside=st.booleans(),
)


@settings(deadline=None, max_examples=times(3000))
@given(
    kind=st.sampled_from(KINDS),
    form=any_form,
    first=st.integers(26_297_280, 29_891_520).map(lambda minute: datetime.fromtimestamp(60 * minute, UTC)),
    count=st.integers(2, 60),
)  # from 2020 to November 2026
@example(kind="freezer", form=PLAIN, first=datetime(2025, 10, 25, 22, 0, tzinfo=UTC), count=60)
def test_any_form_is_read_right_or_refused(kind: Kind, form: Form, first: datetime, count: int) -> None:
    """Also dates that read two ways, clock changes and units that nobody says: each of these may be refused, none misread."""
    rows = truth(kind, count, first)
    if form.unit_at == "cells" and form.decimal == "," and form.delimiter == "," and not form.quoted:
        form = replace(form, quoted=True)
    try:
        found = read(kind, rows, form, until=int(datetime(2026, 11, 20, tzinfo=UTC).timestamp()))
    except Unread as refused:
        with_a_mend(refused)
        return
    if form.order == "shuffled" and kind in LOGS:  # an hour shown twice cannot be told apart without an order, nor mixed rows from a clock set back
        assert (form.zone == "local" and crosses_a_change(rows)) or {at for at, _ in found.rows} <= {at for at, _ in rows}
    else:
        assert same(found, in_si(kind, rows, form))


def crosses_a_change(rows: Rows) -> bool:
    """Whether the clocks of the yard change within the rows."""
    return len({datetime.fromtimestamp(at, YARD).utcoffset() for at, _ in rows}) > 1


AUTUMN, SPRING = datetime(2025, 10, 25, 22, tzinfo=UTC), datetime(2026, 3, 28, 22, tzinfo=UTC)


@pytest.mark.parametrize("first", [AUTUMN, SPRING])
@pytest.mark.parametrize("minutes", [10, 30, 60])
def test_a_logger_that_kept_winter_time_through_a_clock_change_is_found_out(first: datetime, minutes: int) -> None:
    """It shows an hour that does not exist, or one of an hour that exists twice; with --zone it is read right."""
    rows = [(int((first + timedelta(minutes=minutes * row)).timestamp()), (-18.0,)) for row in range(60)]
    with pytest.raises(Unread, match="own clock did not change") as refused:
        measured(decoded(content("freezer", rows, replace(PLAIN, zone="winter")))[0], "freezer", YARD)
    assert "--zone +01:00" in refused.value.write
    assert same(read("freezer", rows, replace(PLAIN, zone="winter")), rows)


@pytest.mark.parametrize("first", [AUTUMN, SPRING])
@pytest.mark.parametrize("form", [PLAIN, replace(PLAIN, order="falling"), replace(PLAIN, zone="Z"), replace(PLAIN, zone="offset")])
def test_a_logger_that_followed_the_clocks_is_read_right_through_both_changes(first: datetime, form: Form) -> None:
    """The hour that comes twice is told apart by the order of the rows, also newest first."""
    rows = truth("freezer", 60, first)
    assert same(read("freezer", rows, form), rows)


@pytest.mark.parametrize(
    ("kind", "text", "line", "column", "said", "write"),
    [
        ("freezer", "", 0, 0, "the table is empty", "time,temperature"),
        ("freezer", "time,temp C\n", 1, 1, "has no rows", "a row for each reading"),
        ("freezer", "time,humidity\n2026-08-12T06:00,60\n", 1, 1, "no column could be the temperature", "--column"),
        ("freezer", "time,temp in C,temp out C\n2026-08-12T06:00,1,2\n", 1, 1, "2 columns could be the temperature", "--column 'temp in C'"),
        ("freezer", "time,temp\n2026-08-12T06:00,-18\n", 1, 6, "no unit is said", "--unit °C or --unit °F"),
        ("freezer", "time,temp K\n2026-08-12T06:00,255\n", 1, 6, "no unit is said", "--unit"),
        ("freezer", "time,temp C\nyesterday,-18\n", 2, 1, '"yesterday" is not a time', "2026-08-12T06:00"),
        ("freezer", "time,temp C\n2026-08-12T06:00,-18\nyesterday,-18\n", 3, 1, '"yesterday" is not a time', "2026-08-12T06:00"),
        ("freezer", "time,temp C\n2026-08-12T06:00,cold\n", 2, 18, '"cold" is not a number', "a number"),
        ("freezer", "time,temp C\n2026-08-12T06:00\n", 2, 1, "1 cells, too few", "a cell for each column"),
        ("freezer", "time,temp C\n2026-08-12T06:00,-17,9\n", 2, 22, "3 cells, more than the 2", "decimal comma"),
        ("freezer", "time,temp C\n2026-08-12T25:00,-18\n", 2, 1, "is not a time", "2026-08-12T06:00"),
        ("freezer", "time,temp C\n2026-02-30T06:00,-18\n", 2, 1, "is not a date", "2026-08-12"),
        ("freezer", "time,temp C\n8/9/2026 6:00,-18\n9/9/2026 6:00,-18\n", 2, 1, "2026-09-08 (day first) or 2026-08-09 (month first)", "--dates 'day first'"),
        ("freezer", "time,temp C\n13/8/2026 6:00,-18\n8/13/2026 6:00,-18\n", 3, 1, "is not a date up to today", "one order"),
        ("freezer", "time,temp C\n2026-08-12,-18\n2026-08-13,-18\n", 2, 1, "a day without a time of day", "--time"),
        ("freezer", "time;temp C\n2026-08-12T06:00;-17,9\n2026-08-12T06:10;-17.9\n", 3, 18, "has a dot where rows before it have a comma", "one decimal mark"),
        ("freezer", "time,temp C\n2026-08-12T06:00 XYZ,-18\n2026-08-12T06:10 XYZ,-18\n", 2, 1, '"XYZ" is not what the clocks there are called', "+02:00"),
        ("freezer", "time,temp C\n2126-08-12T06:00,-18\n2126-08-12T06:10,-18\n", 3, 1, "is still to come", "check the logger's clock"),
        ("scale", "date,hive\n2026-08-01,40\n2026-08-02,41\n", 1, 1, "no column could be the mass", "--column"),
        ("scale", "date,hive,kg\n2026-08-01,1,40\n2026-08-01,2,30\n", 3, 12, 'rows of 2 instruments, by the column "hive": 1, 2', "a file for each"),
        ("scale", "date,kg\n2026-08-01,40\n2026-08-01,41\n", 3, 1, "2026-08-01 stands in line 2 with another reading", "one row a day"),
        ("weather", "date,tmin C,tmax C\n2026-08-01,12,2\n", 2, 12, "the lowest of the day is above the highest", "lowest and highest"),
        ("weather", "date,tmin C\n2026-08-01,1\n", 1, 1, "no column could be the lowest and highest", "--column"),
        ("weather", "date,tmin C,tmax C\n" + "".join(f"2026-08-{day:02},55,7{day % 10}\n" for day in range(1, 29)), 2, 1, "cannot be readings", "--unit"),
        ("scale", 'date,lb\n2026-08-01,"1,234"\n2026-08-02,"1,240"\n', 2, 12, "can be a thousand or a decimal comma", "a decimal point"),
        ("weather", 'date,tmin C,tmax C\n2025-05-01,"5,20', 2, 1, "cannot be read", "each quote closed"),
    ],
)
def test_what_cannot_be_told_is_refused_with_its_place_and_the_mend(kind: Kind, text: str, line: int, column: int, said: str, write: str) -> None:
    """Nothing is guessed over."""
    with pytest.raises(Unread, match=re.escape(said)) as refused:
        measured(text, kind, YARD, until=int(datetime(2026, 11, 20, tzinfo=UTC).timestamp()))
    assert write in refused.value.write
    assert (refused.value.line, refused.value.column) == (line, column)


def test_a_short_name_of_summer_time_tells_which_of_two_hours_is_meant() -> None:
    """CEST and CET, as the zone's own table calls them (IANA tz database)."""
    text = "time,temp C\n" + "".join(f"2025-10-26 02:30 {zone},-18\n" for zone in ("CEST", "CET"))
    at = [moment for moment, _ in measured(text, "freezer", YARD).rows]
    assert at == [int(datetime(2025, 10, 26, hour, 30, tzinfo=UTC).timestamp()) for hour in (0, 1)]


def test_units_that_change_within_a_file_are_read_row_by_row() -> None:
    """A display switched over: 0 °F is -17.8 °C."""
    text = "time,temp,unit\n2026-08-12T06:00,-18,C\n2026-08-12T06:10,0,F\n"
    assert [round(value or 0, 1) for _, (value,) in measured(text, "freezer", YARD).rows] == [-18.0, -17.8]


@pytest.mark.parametrize(
    ("kind", "text", "first"),
    [
        (
            "freezer",
            '"Title: chest"\n"#","Date Time, GMT+02:00","Temp, °C (S/N: 1, SEN: 2)"\n1,08/13/26 06:00:00 AM,-17.9\n2,08/13/26 06:10:00 AM,-18\n',
            -17.9,
        ),
        ("freezer", "Timestamp for sample frequency every 15 min,Temperature_Fahrenheit,Relative_Humidity\n2026-08-13 06:00,-0.4,50\n", -18.0),
        ("freezer", "Time(dd/mm/yyyy),CH1 Temperature(°C),CH1 Humidity(%RH)\n13/08/2026 06:00,-17.9,50\n", -17.9),
        ("freezer", "Zeitpunkt;Temperatur [°C]\n13.08.2026 06:00:00;-17,9\n", -17.9),
        ("weather", "Date;Max temperature (°C);Min temperature (°C);Mean temperature (°C)\n2026-08-13;30,1;12,3;20\n", 12.3),
        ("weather", "latitude,longitude\n46.3,14.1\n\ntime,temperature_2m_max (°C),temperature_2m_min (°C)\n2026-08-13,30.1,12.3\n", 12.3),
        ("scale", "Hive,Date,Weight kg,Change kg\nNorth,2026-08-13,40,0.5\n", 40.0),
        ("scale", "Date,Weight (lbs),Temp (F)\n8/13/2026 5:00 AM,88.18490487,60\n", 40.0),
    ],
)
def test_names_of_columns_as_exports_have_them_are_understood(kind: Kind, text: str, first: float) -> None:
    """Serial numbers in the name, the form of the date in it, other columns beside; 40 kg are 88.18490487 lb (NIST Handbook 44)."""
    read_rows = measured(text, kind, YARD).rows
    assert round(read_rows[0][1][0] or 0, 6) == first
    assert datetime.fromtimestamp(read_rows[0][0], YARD).date().isoformat() == "2026-08-13"


def test_the_account_says_what_was_taken_for_what() -> None:
    """Columns, unit, zone, order of dates, lines passed over."""
    text = "Logger 7\nDate;Time;Temp (°F);Humidity\n13.8.2026;6:00;0,5;50\n13.8.2026;6:10;0,4;50\nEnd\n"
    kinds = [one.kind for one in measured(text, "freezer", ZoneInfo("America/Denver")).account]
    assert kinds == ["read as columns", "unit taken", "zone taken", "dates read", "lines before", "lines after"]


@settings(deadline=None, max_examples=times(3000))
@given(data=st.binary(max_size=200), kind=st.sampled_from(KINDS))
def test_any_bytes_are_read_or_refused(data: bytes, kind: Kind) -> None:
    """No fault of the program comes of any."""
    try:
        measured(decoded(data)[0], kind, YARD, AsTold(), otherwise=UNITS[kind])
    except Unread as refused:
        with_a_mend(refused)


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("scale", "date,hive\n2026-08-01,40\n2026-08-02,41\n"),
        ("scale", "date,kg,lb\n2026-08-01,40,88\n"),
        ("freezer", "time,temp\n2026-08-12T06:00,-18,60\n2026-08-12T06:10,-18,60\n"),
        ("freezer", "time,temp\n2026-03-29T02:10,-18\n2026-03-29T02:20,-18\n"),
    ],
)
def test_what_an_older_version_kept_is_never_refused_now(kind: Kind, text: str) -> None:
    """A plan from an old ledger opens; the same file read anew is refused."""
    assert measured(text, kind, YARD, AsTold(lenient=True), otherwise=UNITS[kind]).rows
    with pytest.raises(Unread, match=r"no column|columns could be|more than the 2|own clock"):
        measured(text, kind, YARD, otherwise=UNITS[kind])
