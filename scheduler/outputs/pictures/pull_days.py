"""The days on which a pull could be, as a picture (SVG 1.1): a bar a day for the frames of which no limit is missed, filled as far as 9 of 10 weeks go."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import tzinfo
from html import escape

from scheduler.local_time import spoken
from scheduler.outputs.pictures.pen import number
from scheduler.outputs.text.pull_table import Day

WIDTH = 720
_LEFT, _TOP, _ROW, _BAR = 150, 62, 34, 18
_LONGEST = 300  # px of the bar of the day that takes most
_INK, _FILL, _EDGE = "#222222", "#0b4f8a", "#6f6f6f"


def svg(days: Sequence[Day], title: str, zone: tzinfo) -> bytes:
    """The picture as bytes; the same days give the same bytes. Where it was not asked how many make it in 9 of 10 weeks, bars are filled to their end."""
    return "\n".join(["<?xml version='1.0' encoding='UTF-8'?>", *_drawn(days, title, zone), "</svg>", ""]).encode()


def _drawn(days: Sequence[Day], title: str, zone: tzinfo) -> Iterator[str]:
    height = _TOP + _ROW * len(days) + 14
    size = f'width="{WIDTH}" height="{height}" viewBox="0 0 {WIDTH} {height}"'
    yield f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" font-family="sans-serif" font-size="13" fill="{_INK}">'
    yield f"<title>{escape(title)}</title>"
    yield f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>'
    yield f'<text x="16" y="24" font-size="16">{escape(title)}</text>'
    likely = any(day.safe is not None for day in days)
    yield f'<text x="16" y="46">{"Outline: frames that miss no limit. Filled: in 9 of 10 weeks." if likely else "Frames that miss no limit."}</text>'
    most = max((day.frames for day in days), default=0) or 1
    for row, day in enumerate(days):
        top = _TOP + _ROW * row
        yield f'<text x="{_LEFT - 10}" y="{top + 14}" text-anchor="end">{escape(spoken(day.pulled, zone))}</text>'
        wide, sure = (_LONGEST * frames / most for frames in (day.frames, day.frames if day.safe is None else day.safe))
        if sure:
            yield f'<rect x="{_LEFT}" y="{top}" width="{number(sure)}" height="{_BAR}" fill="{_FILL}"/>'
        if wide:
            yield f'<rect x="{_LEFT}" y="{top}" width="{number(wide)}" height="{_BAR}" fill="none" stroke="{_EDGE}" stroke-width="1.5"/>'
        yield f'<text x="{number(_LEFT + wide + 8)}" y="{top + 14}">{_said(day)}</text>'


def _said(day: Day) -> str:
    if not day.frames:
        return "none"
    safe = "" if day.safe is None else f", {day.safe or 'none'} in 9 of 10 weeks"
    return f"{day.frames}{' or more' if day.is_most else ''} frames{safe}"
