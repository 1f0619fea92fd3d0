"""The marks of the season as a person reads them: the next day of each, what it rests on, and what would change it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

from scheduler.facts.season import MARKS, SPANS, UNENDED, Season, Stretch

INDENT, NEW_LINE = " " * 18, "\n"
SEEN, LIKELY, NORMAL = "seen or measured", "likely", "usual date"
SAME_YEAR = timedelta(150)  # from the end of a span to its next stretch of that year; assumed
NEWEST = 2  # lines of evidence for one mark; a table of ten years has one for each


def season_text(
    season: Season,
    today: date,
    evidence: Mapping[str, Sequence[str]],
    width: int = 80,
    apiary: str | None = None,
    others: Sequence[str] = (),
    *,
    page: bool = False,
) -> str:
    """Every mark with its next day. `evidence` adds words to a mark, such as what a hive scale says. Of an `apiary`, or of a yard that has `others`."""
    lines = [
        f"The season {f'at {apiary} ' if apiary else ''}as seen on {_day(today, page)}",
        "",
        *_marks(season, today, evidence, width, page),
        "",
        *_spans(season, today, evidence, width, page),
        "",
    ]
    command = '  afterpull observe "first frost" --on 2026-10-09' + (f" --of '{apiary}'" if apiary else "")
    lines.append(f"Likely until you record what you see, which replaces the usual date{'.' if page else f':{NEW_LINE}{command}'}")
    if others:
        lines.append("Each apiary has its own:\n" + "\n".join(f"  afterpull season --of '{name}'" for name in others))
    return "\n".join(lines) + "\n"


def _day(day: date, page: bool) -> str:
    """A day for the shell, where it is typed so, or for the page."""
    return f"{day.day} {day:%b %Y}" if page else day.isoformat()


def _marks(season: Season, today: date, evidence: Mapping[str, Sequence[str]], width: int, page: bool) -> Iterator[str]:
    for name in MARKS:
        found = season.mark(name, today - timedelta(30))
        if found is None:
            told = "none" if season.says(name) else f'not known; write "{name}: ..." under season in the yard file'
            yield from textwrap.wrap(f" {name:16} {told}", width, subsequent_indent=INDENT, break_long_words=False)
            yield from _evidence([name], evidence, width)
            continue
        day, observed = found
        usual = "expected this year" if season.expects(name, day) else NORMAL
        yield from textwrap.wrap(f" {name:16} {_day(day, page)} {SEEN if observed else usual}", width, subsequent_indent=INDENT, break_long_words=False)
        yield from _evidence([name], evidence, width)


def _spans(season: Season, today: date, evidence: Mapping[str, Sequence[str]], width: int, page: bool) -> Iterator[str]:
    for name in SPANS:
        stretches = season.stretches(name, today, today + timedelta(400))
        if not stretches:
            yield f" {name:16} not known"
            continue
        told = "; again ".join(_stretch(season, name, one, today, page) for one in stretches if one.begins - stretches[0].ends < SAME_YEAR)
        yield from textwrap.wrap(f" {name:16} {told}", width, subsequent_indent=INDENT, break_long_words=False)
        yield from _evidence([name, f"{name} begins", f"{name} ends"], evidence, width)


def _stretch(season: Season, name: str, one: Stretch, today: date, page: bool) -> str:
    """Its days, and how sure each end is; one that is neither seen nor a normal is an assumption."""
    begins = SEEN if one.begins_seen else LIKELY if season.expects(f"{name} begins", one.begins) else NORMAL
    ends = f"not seen yet, assumed {UNENDED.days} days on" if one.ends_seen is None else SEEN if one.ends_seen else NORMAL
    sure = f"begin {begins}, end {ends}" if begins != ends else {NORMAL: "usual dates"}.get(begins, begins)
    return f"{_day(one.begins, page)} to {_day(one.ends, page)}{' (now)' if one.begins <= today <= one.ends else ''} {sure}"


def _evidence(names: Sequence[str], evidence: Mapping[str, Sequence[str]], width: int) -> Iterator[str]:
    """What marks rest on, the newest two of each, in lines that fit a terminal."""
    for name in names:
        told = [f"{name}: {words}" if name != names[0] else words for words in sorted(evidence.get(name, ()))[-NEWEST:]]
        for words in told:
            yield from textwrap.wrap(words, width, initial_indent=INDENT, subsequent_indent=INDENT + "  ", break_long_words=False)
