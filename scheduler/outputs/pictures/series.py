"""A measured series as a picture (SVG 1.1): the line, where nothing was read, a limit, days along the bottom. Its words are an argument."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime, time, timedelta, tzinfo
from html import escape
from itertools import accumulate
from typing import NamedTuple

from scheduler.local_time import DAY
from scheduler.outputs.pictures import pen

WIDTH, NARROW, HEIGHT = 900, 360, 380
_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 20, 56, 48
_ROW = 20  # between two spans
_SIZE, _LINE_HEIGHT, _MOST_LINES = 13, 18, 6  # of words [px], their lines [px], how many of these
_AWAY = (-8, 20, -24, 36, -40, 52, -56, -72, 68)  # px from a point to the foot of its word, the nearest first
_DOT = 5  # px, half of a point
_DAY_WIDTH = 90  # px for a label along the bottom
_INK, _LINE, _SECOND, _BAND, _LIMIT = "#222222", "#0b4f8a", "#8a4b0b", "#dddddd", "#a00000"

Points = Sequence[tuple[int, float]]  # moment [s since 1970 UTC], value in the unit shown


class Chart(NamedTuple):
    """What a picture shows: its title, what it says in words, the unit, lines of points, bands without a reading, and a limit with its word."""

    title: str
    told: str
    unit: str
    lines: tuple[Points, ...]
    silent: tuple[tuple[int, int], ...] = ()
    silent_word: str = ""
    limit: tuple[float, str] | None = None
    line_words: tuple[str, ...] = ()  # what each line is, where there are several
    thick: tuple[int, ...] = ()  # lines drawn thicker than the rest, by their number
    spans: tuple[tuple[int, int, str], ...] = ()  # what holds from when to when, with its word: under the days, closed by a stop
    points: tuple[tuple[int, float, str], ...] = ()  # single moments of a line, with their word


class Drawing(NamedTuple):
    """A picture, the zone of its days, and the same as a table: a word for each column, and its rows."""

    chart: Chart
    zone: tzinfo
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def svg(chart: Chart, zone: tzinfo) -> bytes:
    """The picture as bytes; the same chart gives the same bytes. Lines keep the lowest and highest of each column of pixels, so no peak is lost."""
    return f"<?xml version='1.0' encoding='UTF-8'?>\n{element(chart, zone)}\n".encode()


def sheet(shown: Sequence[Drawing]) -> bytes:
    """Several pictures as one, one below the other."""
    if len(shown) == 1:
        return svg(shown[0].chart, shown[0].zone)
    tops = list(accumulate((_height(one.chart) for one in shown), initial=0))
    size = f'width="{WIDTH}" height="{tops[-1]}" viewBox="0 0 {WIDTH} {tops[-1]}"'
    inner = (element(one.chart, one.zone).replace("<svg ", f'<svg y="{top}" ', 1) for one, top in zip(shown, tops, strict=False))
    return "\n".join(["<?xml version='1.0' encoding='UTF-8'?>", f'<svg xmlns="http://www.w3.org/2000/svg" {size}>', *inner, "</svg>", ""]).encode()


def element(chart: Chart, zone: tzinfo, width: int = WIDTH, *, titled: bool = True) -> str:
    """The picture as an element of a page, so many pixels wide; its title is drawn where it has none above it."""
    first, last = min(line[0][0] for line in chart.lines), max(line[-1][0] for line in chart.lines)
    values = [value for line in chart.lines for _, value in line] + ([chart.limit[0]] if chart.limit else [])
    ticks = _ticks(min(values), max(values))
    frame = _Frame(first, max(last, first + 1), ticks[0], ticks[-1], width)
    return "\n".join([*_drawn(chart, frame, ticks, zone, titled=titled), "</svg>"])


def _height(chart: Chart, width: int = WIDTH) -> int:
    return HEIGHT + _ROW * len(chart.spans) + _below(_told(chart, width))


def _told(chart: Chart, width: int) -> list[str]:
    """What it says in words, in lines that fit; all of it stands in its description."""
    letters = int((width - _LEFT - _RIGHT) / (_SIZE * pen.CHARACTER))
    return textwrap.wrap(chart.told, letters, max_lines=_MOST_LINES, placeholder=" ...", break_long_words=True) or [""]


def _below(lines: Sequence[str]) -> int:
    """How much lower the rest stands for more than one line of words."""
    return _LINE_HEIGHT * (len(lines) - 1)


class _Frame(NamedTuple):
    first: int
    last: int
    low: float
    high: float
    width: int

    def x(self, at: float) -> float:
        return _LEFT + (at - self.first) / (self.last - self.first) * (self.width - _LEFT - _RIGHT)

    def y(self, value: float) -> float:
        return HEIGHT - _BOTTOM - (value - self.low) / (self.high - self.low) * (HEIGHT - _TOP - _BOTTOM)


def _drawn(chart: Chart, frame: _Frame, ticks: Sequence[float], zone: tzinfo, *, titled: bool) -> Iterator[str]:
    told = _told(chart, frame.width)
    height = _height(chart, frame.width)
    size = f'width="{frame.width}" height="{height}" viewBox="0 0 {frame.width} {height}"'
    yield f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" font-family="sans-serif" font-size="{_SIZE}" fill="{_INK}">'
    yield f"<title>{escape(chart.title)}</title><desc>{escape(chart.told)}</desc>"
    yield f'<rect width="{frame.width}" height="{height}" fill="#ffffff"/>'
    if titled:
        yield _text(_LEFT, 22, chart.title, size=16)
    for number, words in enumerate(told):
        yield _text(_LEFT, 42 + _LINE_HEIGHT * number, words)
    yield f'<g transform="translate(0 {_below(told)})">'
    top, bottom = _TOP, HEIGHT - _BOTTOM
    for number, (begins, ends) in enumerate(chart.silent):
        left, right = frame.x(max(begins, frame.first)), frame.x(min(ends, frame.last))
        yield f'<rect x="{left:.1f}" y="{top}" width="{max(right - left, 1):.1f}" height="{bottom - top}" fill="{_BAND}"/>'
        if number == 0:
            yield _text(left + 3, top + 14, chart.silent_word)
    for tick in ticks:
        yield f'<line x1="{_LEFT}" x2="{frame.width - _RIGHT}" y1="{frame.y(tick):.1f}" y2="{frame.y(tick):.1f}" stroke="#cccccc"/>'
        yield _text(_LEFT - 6, frame.y(tick) + 4, f"{tick:g} {chart.unit}", anchor="end")
    for at, label in _days(frame, zone):
        yield f'<line x1="{frame.x(at):.1f}" x2="{frame.x(at):.1f}" y1="{bottom}" y2="{bottom + 5}" stroke="{_INK}"/>'
        yield _text(frame.x(at), bottom + 20, label, anchor="middle")
    if chart.limit:
        value, word = chart.limit
        yield f'<line x1="{_LEFT}" x2="{frame.width - _RIGHT}" y1="{frame.y(value):.1f}" y2="{frame.y(value):.1f}" stroke="{_LIMIT}" stroke-dasharray="6 4"/>'
        yield _text(frame.width - _RIGHT, frame.y(value) - 5, word, anchor="end")
    for number, line in enumerate(chart.lines):
        for stretch in _apart(line, chart.silent):
            points = " ".join(f"{frame.x(at):.1f},{frame.y(value):.1f}" for at, value in _thinned(stretch, frame))
            width = "3" if number in chart.thick else "1.4"
            yield f'<polyline points="{points}" fill="none" stroke="{(_LINE, _SECOND)[number % 2]}" stroke-width="{width}"/>'
    for number, (begins, ends, word) in enumerate(chart.spans):
        y = bottom + 36.0 + _ROW * number
        left, right = frame.x(max(begins, frame.first)), frame.x(min(ends, frame.last))
        yield f'<path d="M{left:.1f} {y:.1f}v8H{right:.1f}" fill="none" stroke="{_INK}" stroke-width="1.4"/>'
        yield f'<line x1="{right:.1f}" x2="{right:.1f}" y1="{y - 2:.1f}" y2="{y + 10:.1f}" stroke="{_INK}" stroke-width="3"/>'
        yield _text(left + 4, y + 4, word)
    yield from _labels(chart, frame)
    for at, value, _ in chart.points:
        yield f'<circle cx="{frame.x(at):.1f}" cy="{frame.y(value):.1f}" r="{_DOT}" fill="{_INK}"/>'
    yield "</g>"


def _labels(chart: Chart, frame: _Frame) -> Iterator[str]:
    """The words of points and lines, each beside its own where it lies over no other: over it, under it, or as far up as there is room."""
    named = [(frame.x(at), frame.y(value), word) for at, value, word in chart.points]
    starts = [line[len(line) // 3 if number else 0] for number, line in enumerate(chart.lines)]
    named += [(frame.x(at), frame.y(value), word) for (at, value), word in zip(starts, chart.line_words, strict=False)]
    dots = [(frame.x(at), frame.y(value)) for at, value, _ in chart.points]
    taken = [(x - _DOT, y - _DOT, x + _DOT, y + _DOT) for x, y in dots]
    for x, y, word in named:
        wide = pen.wide(word, _SIZE)
        within = max(_LEFT, min(x - wide / 2, frame.width - wide))
        places = [(left, y + down) for down in _AWAY for left in (x + 9, x - 9 - wide, within)]
        boxes = [(left, below - _SIZE, left + wide, below + 4) for left, below in places]
        inside = [one for one in boxes if one[0] >= _LEFT - 4 and one[2] <= frame.width and one[1] >= _TOP - _SIZE and one[3] <= HEIGHT - _BOTTOM + 4]
        box = next((one for one in inside if not any(_overlap(one, other) for other in taken)), (inside or boxes)[0])
        taken.append(box)
        yield _text(box[0], box[3] - 4, word, look=' stroke="#ffffff" stroke-width="3" paint-order="stroke"')


def _overlap(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _text(x: float, y: float, words: str, *, anchor: str = "start", size: int = 0, look: str = "") -> str:
    bigger = f' font-size="{size}"' if size else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{bigger}{look}>{escape(words)}</text>'


def _ticks(low: float, high: float) -> list[float]:
    """Round values from at or below the lowest to at or above the highest, four to eight of them."""
    span = max(high - low, 1e-6 * max(abs(high), 1.0), 0.5)
    step = 10.0 ** math.floor(math.log10(span / 4))
    step *= next(times for times in (1, 2, 2.5, 5, 10) if span / (step * times) <= 6)
    first, last = math.floor(low / step), math.ceil(high / step)
    return [round(number * step, 9) for number in range(first, max(last, first + 1) + 1)]


def _days(frame: _Frame, zone: tzinfo) -> Iterator[tuple[float, str]]:
    """Midnights at the yard, not more than fit, each with its day; a series of less than two days has hours."""
    begins, most = datetime.fromtimestamp(frame.first, zone), (frame.width - _LEFT - _RIGHT) // _DAY_WIDTH
    if frame.last - frame.first < 2 * DAY:
        step = next(hours for hours in (1, 2, 3, 6, 12, 24) if (frame.last - frame.first) / (hours * 3600) <= most)
        hour = math.ceil(frame.first / 3600)
        found = [at * 3600 for at in range(hour, frame.last // 3600 + 1) if datetime.fromtimestamp(at * 3600, zone).hour % step == 0]
        yield from ((at, f"{datetime.fromtimestamp(at, zone):%H:%M}") for at in found)
        return
    every = max(1, math.ceil((frame.last - frame.first) / DAY / most))
    day = begins.date() + timedelta(1)
    while (at := datetime.combine(day, time(0), zone).timestamp()) <= frame.last:
        yield at, f"{day.day} {day:%b}"
        day += timedelta(every)


def _apart(line: Points, silent: Sequence[tuple[int, int]]) -> Iterator[list[tuple[int, float]]]:
    """A line in its stretches between silences."""
    ends = {begins for begins, _ in silent}
    stretch: list[tuple[int, float]] = []
    for point in line:
        stretch.append(point)
        if point[0] in ends:
            yield stretch
            stretch = []
    if stretch:
        yield stretch


def _thinned(line: Points, frame: _Frame) -> Iterator[tuple[int, float]]:
    """The first, lowest, highest and last point of each column of pixels."""
    column: list[tuple[int, float]] = []
    for point in line:
        if column and int(frame.x(point[0])) != int(frame.x(column[0][0])):
            yield from _of_a_column(column)
            column = []
        column.append(point)
    yield from _of_a_column(column)


def _of_a_column(column: list[tuple[int, float]]) -> list[tuple[int, float]]:
    def value(point: tuple[int, float]) -> float:
        return point[1]

    return sorted({column[0], min(column, key=value), max(column, key=value), column[-1]})
