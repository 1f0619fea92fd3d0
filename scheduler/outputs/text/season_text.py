"""The marks of the season as a person reads them: the next day of each, what it rests on, and what would change it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

from scheduler.facts.season import MARKS, SPANS, UNENDED, Season

INDENT = " " * 18
SEEN, NORMAL = "seen or measured", "usual date"
NEWEST = 2  # lines of evidence for one mark; a table of ten years has one for each


def season_text(
    season: Season, today: date, evidence: Mapping[str, Sequence[str]], width: int = 80, apiary: str | None = None, others: Sequence[str] = ()
) -> str:
    """Every mark with its next day. `evidence` adds words to a mark, such as what a hive scale says. Of an `apiary`, or of a yard that has `others`."""
    lines = [
        f"The season {f'at {apiary} ' if apiary else ''}as seen on {today}",
        "",
        *_marks(season, today, evidence, width),
        "",
        *_spans(season, today, evidence, width),
        "",
    ]
    lines.append(
        'Likely until you record what you see, which replaces the usual date:\n  afterpull observe "first frost" --on 2026-10-09'
        + (f" --of '{apiary}'" if apiary else "")
    )
    if others:
        lines.append("Each apiary has its own:\n" + "\n".join(f"  afterpull season --of '{name}'" for name in others))
    return "\n".join(lines) + "\n"


def _marks(season: Season, today: date, evidence: Mapping[str, Sequence[str]], width: int) -> Iterator[str]:
    for name in MARKS:
        found = season.mark(name, today - timedelta(30))
        if found is None:
            told = f' {name:16} not known; write "{name}: ..." under season in the yard file'
            yield from textwrap.wrap(told, width, subsequent_indent=INDENT, break_long_words=False)
            continue
        day, observed = found
        usual = "expected this year" if season.expects(name, day) else NORMAL
        yield from textwrap.wrap(f" {name:16} {day} {SEEN if observed else usual}", width, subsequent_indent=INDENT, break_long_words=False)
        yield from _evidence([name], evidence, width)


def _spans(season: Season, today: date, evidence: Mapping[str, Sequence[str]], width: int) -> Iterator[str]:
    for name in SPANS:
        spans = season.spans(name, today, today + timedelta(400))
        if not spans:
            yield f" {name:16} not known"
            continue
        first, last = spans[0]
        now = " (now)" if first <= today <= last else ""
        told = f" {name:16} {first} to {last}{now} {_sure(season, name, first, last)}"
        yield from textwrap.wrap(told, width, subsequent_indent=INDENT, break_long_words=False)
        yield from _evidence([name, f"{name} begins", f"{name} ends"], evidence, width)


def _sure(season: Season, name: str, first: date, last: date) -> str:
    """How sure each end of a span is; one that is neither seen nor a normal is an assumption."""
    unended = f"not seen yet, assumed {UNENDED.days} days on" if last - first == UNENDED else "not seen yet"
    begins, ends = _rests_on(season, f"{name} begins", first, "not seen"), _rests_on(season, f"{name} ends", last, unended)
    if begins == ends:
        return {NORMAL: "usual dates"}.get(begins, begins)
    return f"begin {begins}, end {ends}"


def _rests_on(season: Season, edge: str, day: date, otherwise: str) -> str:
    found = season.mark(edge, day)
    return otherwise if found is None or found[0] != day else SEEN if found[1] else NORMAL


def _evidence(names: Sequence[str], evidence: Mapping[str, Sequence[str]], width: int) -> Iterator[str]:
    """What marks rest on, the newest two of each, in lines that fit a terminal."""
    for name in names:
        told = [f"{name}: {words}" if name != names[0] else words for words in sorted(evidence.get(name, ()))[-NEWEST:]]
        for words in told:
            yield from textwrap.wrap(words, width, initial_indent=INDENT, subsequent_indent=INDENT + "  ", break_long_words=False)
