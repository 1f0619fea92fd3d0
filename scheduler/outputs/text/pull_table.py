"""What a pull on one of the next days comes to: a row a day, as soon as it is known, and the best of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
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


def heading(harvest: Harvest, width: int) -> list[str]:
    """What is asked, and on what it rests."""
    lots = "; ".join(
        f"{lot.id}: {lot.product}, {lot.frames} {lot.frame}{'' if lot.moisture is None else f', {lot.moisture:.1%} water'}" for lot in harvest.lots
    )
    pen = Pen(width, colour=False)
    asked = f"A pull like {harvest.harvest} ({lots}): the most frames of which no limit of food safety, colony or crop is missed, every evening kept."
    return [*pen.wrapped(asked), ""]


def row(day: Day, zone: ZoneInfo, width: int) -> Iterator[str]:
    """One day: the frames and their lots, what the next frame would miss, and what follows."""
    pen = Pen(width, colour=False)
    lots = f" ({', '.join(f'{lot} {count}' for lot, count in day.lots)})" if day.lots else ""
    said = f"{day.frames}{' or more' if day.is_most else ''} frames{lots}" if day.frames else "none"
    yield from pen.wrapped(said + ("" if day.free else "; no free hours then"), first=spoken(day.pulled, zone), indent=LEAD)
    if day.safe is not None:
        lots = f" ({', '.join(f'{lot} {count}' for lot, count in day.safe_lots)})" if day.safe_lots else ""
        yield from pen.wrapped(f"in 9 of 10 weeks: {f'{day.safe} frames{lots}' if day.safe else 'fewer than were asked'}", first="", indent=LEAD)
    if day.stops is not None:
        bare = day.stops.says._replace(values=tuple((name, () if name == "cure" else value) for name, value in day.stops.says.values))
        words = in_words(bare, reader_of(day.stopped)).rstrip() if day.stopped else ""
        yield from pen.wrapped(f"{'one more' if day.frames else 'even so few'}: {words}", first="", indent=LEAD)
    then = [f"{name} {spoken(at, zone)}" for name, at in (("wet frames back", day.back), ("mite treatment", day.treated)) if at is not None]
    if then:
        yield from pen.wrapped("; ".join(then), first="", indent=LEAD)


def best(days: Sequence[Day], harvest: Harvest, zone: ZoneInfo, width: int) -> Iterator[str]:
    """The days that take most, the best first, and the word that makes it a planned harvest."""
    pen, good = Pen(width, colour=False), days[:BEST]
    yield ""
    if not good:
        yield from pen.wrapped("On none of these days is there time for it: fewer frames, more hours, or more room in the freezer.")
        return
    if good[0].safe is not None:
        yield from pen.wrapped("Most in 9 of 10 weeks: " + "; ".join(f"{spoken(day.pulled, zone)}, {day.safe}" for day in good))
    else:
        yield from pen.wrapped("Most: " + "; ".join(f"{spoken(day.pulled, zone)}, {day.frames}{' or more' if day.is_most else ''}" for day in good))
    yield from pen.wrapped(f"To plan it, the same with --as NAME: {spoken(good[0].pulled, zone)}, as {harvest.harvest} was.")


def time_text(spoken: Spoken, today: date, place: str, words: Callable[[Statement], str], width: int) -> str:
    """What speaks for pulling now and what against; the decision is the keeper's."""
    pen = Pen(width, colour=False)
    lines = list(pen.wrapped(f"{place}, {day(today, today.year)}: is it time to pull?"))
    for title, said in (("FOR PULLING NOW", spoken.for_), ("AGAINST", spoken.against)):
        lines += ["", title, *(line for one in said for line in pen.wrapped(words(one), first=" - ", indent=3))]
        lines += [] if said else [" - nothing that is known"]
    ask = "You decide. A sample of frames says more: --capped '80 %' --moisture '17.8 %'. How many on which day: afterpull pull saturday --like HARVEST"
    return "\n".join([*lines, "", *pen.wrapped(ask)]) + "\n"
