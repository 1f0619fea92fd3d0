"""Which of the next days takes how many frames, as it is asked on the page: worked out a day at a time, behind the page."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple

from scheduler.application.before_pull import PullToCome, best_of, moments_of, template_like
from scheduler.application.ledger_view import LedgerView
from scheduler.diagnostics import Fault, instead
from scheduler.facts.harvest import Harvest
from scheduler.local_time import in_years, midnight, spoken
from scheduler.outputs.text.pull_table import Day, asked_words, best_words, day_words
from scheduler.planning.planner import Unwanted

COUNT = 7  # days that are asked about; assumed
PENDING = "in 9 of 10 weeks: being worked out"
BEFORE = 3  # of them before the day for which the pull is planned; assumed
MOST_LIKES = 12  # harvests that are offered; assumed


class ShownDay(NamedTuple):
    """A day of the answer: when the pull would begin, what it comes to, and of the form that plans it the moment, the lots and the frames of them all."""

    when: str
    words: tuple[str, ...]
    pulled: str
    lots: str
    frames: int


class DaysAsked:
    """One question, and what was worked out of it so far. Raises `Fault` for a harvest that is none, and for days that are over."""

    def __init__(self, view: LedgerView, like: str, first: str, now: int, position: int) -> None:
        template = template_like(harvest_named(view, like))
        self._view, self._now, self._position = view, now, position
        self._template = template._replace(moves=like in view.ahead)
        self.first = _day_of(first) if first else self._usual()
        self._moments = moments_of(view, self._template, midnight(self.first, view.zone), COUNT, now)
        if not self._moments:
            raise Fault("these days are over", "a day to come")
        self._found: list[Day] = []
        self._likely: list[Day] = []
        self._failed = False

    @property
    def over(self) -> bool:
        """Whether all of it is worked out, as far as it can be."""
        return self._failed or len(self._likely) == len(self._moments)

    def stands(self, position: int, now: int) -> bool:
        """Whether it is asked of the same facts, on the same day."""
        today = (datetime.fromtimestamp(moment, self._view.zone).date() for moment in (self._now, now))
        return self._position == position and len(set(today)) == 1

    def go_on(self, wanted: Callable[[], bool]) -> bool:
        """Work out a day more, first what it takes and, once that is known of all, how many make it in nine of ten weeks. Whether something was found."""
        pull = PullToCome(self._view, self._template._replace(wanted=wanted))
        try:
            if len(self._found) < len(self._moments):
                at, free = self._moments[len(self._found)]
                self._found.append(pull.day(at, free=free))
            else:
                self._likely.append(pull.likely(self._found[len(self._likely)]))
        except Unwanted:
            return False
        except Exception as fault:
            logging.getLogger(__name__).warning("how many frames a day takes was not found: %s: %s", type(fault).__name__, fault)
            self._failed = True
        return True

    def shown(self) -> dict[str, Any]:
        """What there is to show by now."""
        known = [*self._likely, *self._found[len(self._likely) :]]
        return {
            "asked": asked_words(self._template.harvest, moves=self._template.moves),
            "moves": self._template.moves,
            "frames": self._template.frames,
            "days": [self._shown(day, number >= len(self._likely)) for number, day in enumerate(known)],
            "known": f"{len(self._found)} of {len(self._moments)} days so far" + (f", {len(self._likely)} of them with 9 of 10 weeks" if self._likely else ""),
            "over": self.over,
            "failed": self._failed,
            "best": best_words(best_of(known), self._view.zone) if self.over and not self._failed else "",
        }

    def _shown(self, day: Day, pending: bool) -> ShownDay:
        lots = day.safe_lots or day.lots
        zone = self._view.zone
        first, *more = day_words(day, zone, page=True)
        words = tuple(f"{one[0].upper()}{one[1:]}" for one in (first, *((PENDING,) if pending and day.frames else ()), *more))
        pulled = f"{datetime.fromtimestamp(day.pulled, zone):%Y-%m-%dT%H:%M}"
        return ShownDay(spoken(day.pulled, zone), words, pulled, ",".join(f"{lot}={count}" for lot, count in lots), sum(count for _, count in lots))

    def _usual(self) -> date:
        """Tomorrow, or some days before the pull that is planned."""
        view = self._view
        tomorrow = datetime.fromtimestamp(self._now, view.zone).date() + timedelta(1)
        planned = view.ahead.get(self._template.harvest.harvest)
        return tomorrow if planned is None else max(tomorrow, datetime.fromtimestamp(planned, view.zone).date() - timedelta(BEFORE))


def harvest_named(view: LedgerView, like: str) -> Harvest:
    """A harvest that a pull can be like; a file is none, for the page reads no file. Raises `Fault`."""
    known = {one.harvest: one for one in view.harvests}
    if like not in known:
        raise Fault(f'no harvest "{like[:40]}" is logged', instead(like, known) if known else "")
    return known[like]


def likes(view: LedgerView) -> list[tuple[str, str]]:
    """The harvests that a pull can be like, with what they are: those that are planned, then the last that were logged."""
    names = [*view.ahead, *(one.harvest for one in reversed(view.harvests) if one.harvest not in view.ahead)]
    return [(name, ", ".join(dict.fromkeys(lot.product for lot in harvest_named(view, name).lots))) for name in names[:MOST_LIKES]]


def _day_of(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise Fault(f'"{text[:40]}" is not a date', "2026-08-15") from None
    return in_years(day, text)
