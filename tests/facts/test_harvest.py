"""The harvest file: lots as they come off the hive, and the moment of the pull."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scheduler.diagnostics import Fault
from scheduler.facts.harvest import Harvest, Lot, check_against, pulled_at, read_harvest, read_jar, read_size, still_ahead
from scheduler.facts.yard import read_yard
from scheduler.local_time import DAY

LJUBLJANA = ZoneInfo("Europe/Ljubljana")
YARD = read_yard(
    """
yard: Kestrel Bank
place: {latitude: 46.31, longitude: 14.18, timezone: Europe/Ljubljana}
hands: {mon-fri: "17:30-21:30"}
room: {temperature: 21 °C, humidity: 55 %}
""".encode(),
    "yard.yaml",
)


def lot(**more: Any) -> Lot:
    """A lot of five shallow frames of cut comb, and more."""
    return Lot.model_validate({"id": "a", "kind": "cut comb", "frames": 5, "frame": "shallow"} | more)


def harvest(pulled: str) -> Harvest:
    """A harvest of one lot pulled at a time."""
    return Harvest.model_validate({"harvest": "ridge-2", "pulled": pulled, "lots": [{"id": "a", "kind": "extracted", "frames": 9, "frame": "medium"}]})


def test_a_lot_may_say_very_little() -> None:
    """No reading yet, nothing counted; comb at section spacing and pieces of 4 x 4 in are common practice."""
    plain = lot()
    assert (plain.moisture, plain.yeast, plain.comb_temperature, plain.pieces, plain.boxes) == (None, None, None, None, None)
    assert plain.piece == (0.1016, 0.1016)
    assert (plain.disease, plain.treated, plain.beetle) == (None, False, False)


@pytest.mark.parametrize("text", ["4 x 2 in", "2 x 4 in", "4 in x 2 in", "4×2 in", "101.6 x 50.8 mm", "4 by 2 in", "4 0/1 x 2 in"])
def test_the_size_of_a_piece_is_written_in_many_ways(text: str) -> None:
    """The longer side comes first, whichever is written first."""
    assert read_size(text) == pytest.approx((0.1016, 0.0508))


def test_fractions_of_an_inch_are_read() -> None:
    """A section of 4 1/4 x 4 1/4 in is 108 mm square (USDA Farmers' Bulletin 503, Comb honey, page 8)."""
    assert read_size("4 1/4 x 4 1/4 in") == pytest.approx((0.108, 0.108), abs=0.0005)


def test_a_jar_is_known_by_its_volume_or_by_its_honey() -> None:
    """500 g of honey at 1421 kg/m³ take 352 mL (density at 17 % water from memory)."""
    assert read_jar("370 mL") == pytest.approx(0.00037)
    assert read_jar("500 g") == pytest.approx(0.000352, abs=5e-7)
    assert read_jar("1 lb") == pytest.approx(0.000319, abs=5e-7)


@pytest.mark.parametrize(("written", "read"), [(900, 900.0), ("900 per g", 900.0), ("1e3 per g", 1000.0), ("0", 0.0)])
def test_a_yeast_count_is_per_gram(written: Any, read: float) -> None:
    """Bare, or with the words."""
    assert lot(yeast=written).yeast == read


@pytest.mark.parametrize("share", ["13 %", "18.6 %", "25 %"])
def test_moisture_that_a_refractometer_shows_is_read(share: str) -> None:
    """Its tables run from 13 to 25 %, both counted."""
    assert lot(moisture=share).moisture == pytest.approx(float(share.split()[0]) / 100)


def test_a_pull_is_local_time_at_the_yard() -> None:
    """Summer time in Ljubljana is two hours ahead of UTC."""
    assert pulled_at(harvest("2026-08-11T10:30"), LJUBLJANA) == datetime(2026, 8, 11, 8, 30, tzinfo=UTC)


@pytest.mark.parametrize("text", ["2026-08-11T08:30Z", "2026-08-11T04:30-04:00", "2026-08-11 10:30"])
def test_a_pull_may_carry_its_offset(text: str) -> None:
    """The same moment, told from elsewhere; shown in the yard's zone."""
    found = pulled_at(harvest(text), LJUBLJANA)
    assert found == datetime(2026, 8, 11, 8, 30, tzinfo=UTC)
    assert f"{found:%H:%M}" == "10:30"


def test_a_time_that_clocks_skip_does_not_exist() -> None:
    """At 02:00 on 29 March 2026 clocks in Ljubljana go to 03:00."""
    with pytest.raises(Fault, match="go forward over 02:30 on 29 March 2026, so that time does not exist") as refused:
        pulled_at(harvest("2026-03-29T02:30"), LJUBLJANA)
    assert "03:30" in refused.value.write
    assert check_against(harvest("2026-03-29T02:30"), YARD)[0][0] == ("pulled",)


def test_of_a_time_that_comes_twice_the_first_is_meant() -> None:
    """At 03:00 on 25 October 2026 clocks in Ljubljana go back to 02:00; the first 02:30 is still summer time."""
    assert pulled_at(harvest("2026-10-25T02:30"), LJUBLJANA).astimezone(UTC) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


def test_a_pull_is_planned_for_no_more_than_a_year_ahead() -> None:
    """A slip of the pen in the year is told; a pull still to come is planned, and the minute it comes it is not ahead any more."""
    pulled = int(datetime(2026, 8, 11, 8, 30, tzinfo=UTC).timestamp())
    planned = harvest("2026-08-11T10:30")
    assert check_against(planned, YARD, pulled - 366 * DAY) == []
    assert [loc for loc, _ in check_against(planned, YARD, pulled - 366 * DAY - 60)] == [("pulled",)]
    assert still_ahead([planned], LJUBLJANA, pulled - 60) == {planned.harvest: pulled}
    assert still_ahead([planned], LJUBLJANA, pulled) == {}


def test_one_harvest_has_lots_of_several_kinds() -> None:
    """Numbers as ids are names too."""
    content = """
harvest: 2026-08
pulled: 2026-08-11T10:30
hives: [north, 7]
lots:
  - {id: 1, kind: cut comb, frames: 5, frame: shallow, piece: 4 x 2 in, imperfect: 20 %}
  - {id: 2, kind: extracted, frames: 14 frames, frame: medium, moisture: 17.9 %, comb temperature: 31 °C}
  - {id: 3, kind: dry comb, frames: 20, frame: deep, boxes: 2}
"""
    found = read_harvest(content.encode(), "harvest.yaml", YARD)
    assert [(one.id, one.kind, one.frames) for one in found.lots] == [("1", "cut comb", 5), ("2", "extracted", 14), ("3", "dry comb", 20)]
    assert found.hives == ("north", "7")


CLOCKS = st.datetimes(datetime.fromisoformat("2000-01-01T00:00"), datetime.fromisoformat("2100-01-01T00:00"))


@given(CLOCKS, st.sampled_from(["Europe/Ljubljana", "America/New_York", "Australia/Hobart", "UTC"]))
def test_the_moment_of_a_pull_shows_the_clock_that_was_written(local: datetime, zone: str) -> None:
    """Whatever clocks do that day, in either hemisphere; in the hour they skip nothing is pulled."""
    assume(local.replace(tzinfo=ZoneInfo(zone)).utcoffset() == local.replace(tzinfo=ZoneInfo(zone), fold=1).utcoffset())
    found = pulled_at(harvest(local.isoformat()), ZoneInfo(zone)).astimezone(UTC)
    assert found.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == local


@given(st.integers(10, 500), st.integers(10, 500))
def test_a_size_reads_back_the_longer_side_first(one: int, other: int) -> None:
    """In millimetres."""
    assert read_size(f"{one} x {other} mm") == pytest.approx((max(one, other) / 1000, min(one, other) / 1000))
