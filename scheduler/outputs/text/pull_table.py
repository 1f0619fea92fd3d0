"""What a pull on one of the next days comes to: a row a day, as soon as it is known, and the best of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.harvest import Harvest
from scheduler.local_time import day, spoken
from scheduler.outputs.text.wrapping import Pen
from scheduler.outputs.wording.sentence import in_words, reader_of
from scheduler.planning.is_it_time import Spoken
from scheduler.planning.plan import Plan, Warning
from scheduler.quantities import Statement

LEAD = 18  # columns of a moment
BEST = 3  # days that are named at the end


class Day(NamedTuple):
    """What a pull on a day comes to: the moment [s since 1970], whether hands are free then, the most frames that miss no limit and their lots, whether
    more was not asked, what the next frame would miss and the plan of it, and from when wet frames go back and mites are treated [s, None: not]."""

    pulled: int
    free: bool
    frames: int
    lots: tuple[tuple[str, int], ...]
    is_most: bool
    stops: Warning | None
    stopped: Plan | None
    back: int | None
    treated: int | None
    safe: int | None = None  # the most frames of which each limit is kept in nine of ten futures; None where that was not asked
    safe_lots: tuple[tuple[str, int], ...] = ()


def asked_words(harvest: Harvest, *, moves: bool = False) -> str:
    """What is asked, of a pull like a harvest or of that harvest itself on another day, and on what it rests."""
    lots = "; ".join(
        f"{lot.id}: {lot.product}, {lot.frames} {lot.frame}{'' if lot.moisture is None else f', {lot.moisture:.1%} water'}" for lot in harvest.lots
    )
    what = f"{harvest.harvest} on another day" if moves else f"A pull like {harvest.harvest}"
    return f"{what} ({lots}): the most frames of which no limit of food safety, colony or crop is missed, every evening kept."


def heading(harvest: Harvest, width: int) -> list[str]:
    """The same as lines."""
    return [*Pen(width, colour=False).wrapped(asked_words(harvest)), ""]


def row(day: Day, zone: ZoneInfo, width: int) -> Iterator[str]:
    """One day: the frames and their lots, what the next frame would miss, and what follows."""
    pen, first = Pen(width, colour=False), spoken(day.pulled, zone)
    for words in day_words(day, zone):
        yield from pen.wrapped(words, first=first, indent=LEAD)
        first = ""


def day_words(day: Day, zone: ZoneInfo, *, page: bool = False) -> Iterator[str]:
    """The same as phrases, without the moment of the pull."""
    said = f"{day.frames}{' or more' if day.is_most else ''} {_frames(day.frames)}{_counts(day.lots)}" if day.frames else "none"
    yield said + ("" if day.free else "; no free hours then")
    if day.safe is not None:
        yield f"in 9 of 10 weeks: {f'{day.safe} {_frames(day.safe)}{_counts(day.safe_lots)}' if day.safe else 'none'}"
    if day.stops is not None:
        bare = day.stops.says._replace(values=tuple((name, () if name == "cure" else value) for name, value in day.stops.says.values))
        words = in_words(bare, reader_of(day.stopped, page=page)).rstrip() if day.stopped else ""
        yield f"{'one more' if day.frames else 'even so few'}: {words}"
    then = [f"{name} {spoken(at, zone)}" for name, at in (("wet frames back", day.back), ("mite treatment", day.treated)) if at is not None]
    if then:
        yield "; ".join(then)


def _frames(count: int) -> str:
    return "frame" if count == 1 else "frames"


def _counts(lots: Iterable[tuple[str, int]]) -> str:
    counted = ", ".join(f"{lot} {count}" for lot, count in lots)
    return f" ({counted})" if counted else ""


def best(days: Sequence[Day], harvest: Harvest, zone: ZoneInfo, width: int) -> Iterator[str]:
    """The days that take most, the best first, and the word that makes it a planned harvest."""
    pen = Pen(width, colour=False)
    yield ""
    yield from pen.wrapped(best_words(days, zone))
    if days:
        yield from pen.wrapped(f"To plan it, the same with --as NAME: {spoken(days[0].pulled, zone)}, as {harvest.harvest} was.")


def best_words(days: Sequence[Day], zone: ZoneInfo) -> str:
    """The days that take most, the best first."""
    good = days[:BEST]
    if not good:
        return "On none of these days is there time for it: fewer frames, more hours, or more room in the freezer."
    if safe := [day for day in good if day.safe]:
        return "Most in 9 of 10 weeks: " + "; ".join(f"{spoken(day.pulled, zone)}, {day.safe}" for day in safe)
    none = "On none of these days does it go well in 9 of 10 weeks. " if good[0].safe is not None else ""
    return f"{none}Most: " + "; ".join(f"{spoken(day.pulled, zone)}, {day.frames}{' or more' if day.is_most else ''}" for day in good)


def time_text(spoken: Spoken, today: date, place: str, words: Callable[[Statement], str], width: int) -> str:
    """What speaks for pulling now and what against; the decision is the keeper's."""
    pen = Pen(width, colour=False)
    lines = list(pen.wrapped(f"{place}, {day(today, today.year)}: is it time to pull?"))
    for title, said in (("FOR PULLING NOW", spoken.for_), ("AGAINST", spoken.against)):
        lines += ["", title, *(line for one in said for line in pen.wrapped(words(one), first=" - ", indent=3))]
        lines += [] if said else [" - nothing that is known"]
    ask = "You decide. A sample of frames says more: --capped '80 %' --moisture '17.8 %'. How many on which day: afterpull pull saturday --like HARVEST"
    return "\n".join([*lines, "", *pen.wrapped(ask)]) + "\n"
