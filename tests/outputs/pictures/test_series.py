"""Pictures of measured series: whole as XML, no peak lost, silence left open, words for whoever does not see it. The series are invented."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.local_time import DAY
from scheduler.outputs.pictures.series import HEIGHT, WIDTH, Chart, Drawing, sheet, svg

ZONE = ZoneInfo("Europe/Ljubljana")
SVG = "{http://www.w3.org/2000/svg}"
FIRST = 1_786_500_000


def drawn(chart: Chart) -> ElementTree.Element:
    """The picture, parsed."""
    return ElementTree.fromstring(svg(chart, ZONE))


def points(root: ElementTree.Element) -> list[list[tuple[float, float]]]:
    """The points of each stretch of line."""
    found = [line.get("points", "").split() for line in root.iter(f"{SVG}polyline")]
    return [[(float(x), float(y)) for x, y in (point.split(",") for point in line)] for line in found]


def words(root: ElementTree.Element) -> list[str]:
    """Every text in it."""
    return [one.text or "" for one in root.iter(f"{SVG}text")]


def chart(values: list[float], interval: int = 600) -> Chart:
    """A line of values."""
    return Chart("freezer & co", "it was <cold>", "°C", (tuple((FIRST + interval * row, value) for row, value in enumerate(values)),))


def test_a_picture_says_in_words_what_it_shows() -> None:
    """Title and description are the first children (SVG 1.1, 5.4), escaped; the unit stands at each tick."""
    root = drawn(chart([-18.0, -17.0, -18.5]))
    assert [root[0].tag, root[0].text, root[1].tag, root[1].text] == [f"{SVG}title", "freezer & co", f"{SVG}desc", "it was <cold>"]
    assert next(word for word in words(root) if word.endswith("°C")) == "-18.5 °C"


@given(st.lists(st.floats(-40, 90), min_size=2, max_size=4000))
def test_no_peak_is_lost_and_nothing_lies_outside(values: list[float]) -> None:
    """However many rows share a pixel, the highest and the lowest are drawn, and the ticks are never fewer than two."""
    [line] = points(drawn(chart(values)))
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in line)
    width = line[-1][0] - line[0][0]
    for peak, height in ((max(values), min(y for _, y in line)), (min(values), max(y for _, y in line))):
        across = line[0][0] + width * values.index(peak) / (len(values) - 1)
        assert any(abs(x - across) <= 1.1 and y == height for x, y in line) or values.count(peak) > 1
    assert len(line) <= 4 * WIDTH


def test_a_single_warm_row_of_a_year_is_seen() -> None:
    """One reading in fifty thousand."""
    values = [-18.0] * 50_000
    values[31_234] = 6.0
    [line] = points(drawn(chart(values)))
    assert min(y for _, y in line) < 100 < max(y for _, y in line)


def test_where_nothing_was_read_no_line_is_drawn() -> None:
    """A band with its word, the line in two."""
    one = chart([-18.0] * 100)
    line = one.lines[0][:40] + one.lines[0][70:]
    root = drawn(one._replace(lines=(line,), silent=((line[39][0], line[40][0]),), silent_word="nothing read"))
    first, second = points(root)
    [band] = [rect for rect in root.iter(f"{SVG}rect") if rect.get("fill") == "#dddddd"]
    assert first[-1][0] == pytest.approx(float(band.get("x", "0")), abs=0.1)
    assert second[0][0] > first[-1][0] + 100
    assert "nothing read" in words(root)


def test_days_stand_at_the_midnights_of_the_yard() -> None:
    """Through the change of the clocks too: midnight is midnight."""
    rows = tuple((1_792_800_000 + 3600 * row, float(row % 5)) for row in range(24 * 9))  # from 24 October 2026, UTC
    root = drawn(Chart("t", "t", "kg", (rows,)))
    assert [word for word in words(root) if word.endswith("Oct")][:3] == ["25 Oct", "26 Oct", "27 Oct"]
    ticks = [float(line.get("x1", "0")) for line in root.iter(f"{SVG}line") if line.get("x1") == line.get("x2")]
    widths = [after - before for before, after in pairwise(ticks)]
    assert widths[0] / widths[1] == pytest.approx(25 / 24, rel=1e-2)


def test_the_same_series_gives_the_same_bytes() -> None:
    """No clock, no chance."""
    assert svg(chart([1.0, 2.0, 3.0]), ZONE) == svg(chart([1.0, 2.0, 3.0]), ZONE)


WORDS = st.text("abcdefghij ", min_size=3, max_size=24).map(str.strip).filter(bool)


@given(st.lists(st.tuples(st.integers(0, 399), WORDS), min_size=1, max_size=8, unique_by=lambda one: one[0] // 8))
def test_the_words_of_a_few_marks_lie_over_no_mark_and_inside_the_picture(marks: list[tuple[int, str]]) -> None:
    """Marks a week apart on a rising line; up to eight of them find a place of their own or lie inside at the least."""
    line = tuple((FIRST + DAY * number, float(number)) for number in range(400))
    drawing = drawn(Chart("scale", "", "kg", (line,), points=tuple((FIRST + DAY * number, float(number), word) for number, word in marks)))
    dots = [(float(one.get("cx", "")), float(one.get("cy", ""))) for one in drawing.iter(f"{SVG}circle")]
    assert len(dots) == len(marks)
    labels = [one for one in drawing.iter(f"{SVG}text") if one.get("paint-order")]
    assert [one.text for one in labels] == [word for _, word in marks]
    assert all(0 <= float(one.get("x", "")) <= WIDTH and 0 <= float(one.get("y", "")) <= HEIGHT for one in labels)


def test_what_it_says_is_wrapped_and_not_cut_off() -> None:
    """Six dated marks take more than a line; the drawing below moves down by as much."""
    told = "; ".join(f"main flow begins Sat {day} May 2026" for day in range(1, 7))
    root = drawn(chart([1.0, 2.0, 3.0])._replace(told=told))
    shown = [word for word in words(root) if "main flow" in word]
    assert " ".join(shown) == told
    assert int(root.get("height", "")) == HEIGHT + 18 * (len(shown) - 1)


def test_several_pictures_stand_one_below_the_other() -> None:
    """A sheet is as high as they are together; of one it is that picture."""
    shown = Drawing(chart([1.0, 2.0]), ZONE, ("day",), ())
    both = ElementTree.fromstring(sheet([shown, shown]))
    assert int(both.get("height", "")) == 2 * HEIGHT
    assert [one.get("y") for one in both] == ["0", str(HEIGHT)]
    assert sheet([shown]) == svg(shown.chart, ZONE)
