"""The marks of the season as a person reads them: the next day of each, what it rests on, and what would change it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta

from scheduler.facts.season import MARKS, SPANS, Season

WIDTH, INDENT = 80, " " * 21
NEWEST = 2  # lines of evidence for one mark; a table of ten years has one for each


def season_text(season: Season, today: date, evidence: Mapping[str, Sequence[str]]) -> str:
    """Every mark with its next day. `evidence` adds words to a mark, such as what a hive scale says."""
    lines = [f"The season as seen on {today}", "", *_marks(season, today, evidence), "", *_spans(season, today, evidence), ""]
    lines.append('What is seen overrules the normals of the yard file:\n  afterpull observe "first frost" --on 2026-10-09')
    return "\n".join(lines) + "\n"


def _marks(season: Season, today: date, evidence: Mapping[str, Sequence[str]]) -> Iterator[str]:
    for name in MARKS:
        found = season.mark(name, today - timedelta(30))
        if found is None:
            yield f'  {name:18} not known; write "{name}: ..." under season in the yard file'
            continue
        day, observed = found
        usual = "expected this year, provisional" if season.expects(name, day) else "a normal of the yard file, provisional"
        yield f"  {name:18} {day}  {'seen or measured' if observed else usual}"
        yield from _evidence([name], evidence)


def _spans(season: Season, today: date, evidence: Mapping[str, Sequence[str]]) -> Iterator[str]:
    for name in SPANS:
        spans = season.spans(name, today, today + timedelta(400))
        if not spans:
            yield f"  {name:18} not known"
            continue
        first, last = spans[0]
        edges = [season.mark(f"{name} {edge}", day - timedelta(3)) for edge, day in (("begins", first), ("ends", last))]
        firm = all(found is not None and found[1] for found in edges)
        now = " (now)" if first <= today <= last else ""
        yield f"  {name:18} {first} to {last}{now}  {'seen or measured' if firm else 'normals, provisional'}"
        yield from _evidence([name, f"{name} begins", f"{name} ends"], evidence)


def _evidence(names: Sequence[str], evidence: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """What marks rest on, the newest two of each, in lines that fit a terminal."""
    for name in names:
        told = [f"{name}: {words}" if name != names[0] else words for words in sorted(evidence.get(name, ()))[-NEWEST:]]
        yield from (line for words in told for line in textwrap.wrap(words, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT + "  "))
