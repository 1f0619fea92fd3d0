"""The weeks to spring as a picture: hands as tags, holds as bars closed by a stop, the freezer's fill, with dusk and robbing behind.

Two panels, a linear axis each: the dense days, and the rest to spring, for one axis would leave a pixel a day. Shape says first what shade says
again, so that grey paper keeps it. A lane is taken by a mark and its words together, so that words never lie on one another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta, tzinfo
from html import escape
from itertools import pairwise
from typing import NamedTuple, get_args
from zoneinfo import ZoneInfo

from scheduler.local_time import DAY, local
from scheduler.outputs.pictures.pen import USUAL, line, number, rect, tag, text, wide
from scheduler.outputs.plain_text import one_line
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.rules.schema import Place

NARROW, BROAD = 344, 1040  # px: a phone, and a page of paper or a screen
_STILL = 3  # days without work of a lot, after which the dense days are over
_DENSE = 6, 14  # days they last at least and at most
_LONG = 3 * DAY  # s a hold lasts at least to be drawn beyond the dense days
_GAP = 28  # px between panels side by side
_SIZE, _SMALL = USUAL, 12.0  # px of words
_LANE, _TAG = 24, 26  # px of a lane of holds, and of the row of tags
_FILL = 54  # px of the freezer's fill
_LITRE = 1000.0  # in a m³


class Behind(NamedTuple):
    """What lies behind the work: nights, robbing seasons and marks [s since 1970]; freezers with their space, and what is reserved there [m³]."""

    nights: tuple[tuple[int, int], ...] = ()
    robbing: tuple[tuple[int, int], ...] = ()
    marks: tuple[tuple[str, int], ...] = ()
    freezers: tuple[tuple[str, float], ...] = ()
    reserved: tuple[tuple[str, int, int, float, str], ...] = ()


class _Axis(NamedTuple):
    """From a moment to another, along so many pixels from the left."""

    first: int
    last: int
    left: float
    width: float

    def x(self, at: float) -> float:
        return self.left + (min(max(at, self.first), self.last) - self.first) / max(self.last - self.first, 1) * self.width

    def has(self, begins: int, ends: int) -> bool:
        return begins < self.last and ends > self.first


class _Row(NamedTuple):
    name: str
    kind: str
    tasks: tuple[PlannedTask, ...]


def season_picture(plan: Plan, behind: Behind, width: int = BROAD, name: str = "season") -> str:
    """The picture as an `svg` element, to stand in a page or, with its address space, in a file. `name` keeps its ids apart from another's there."""
    zone = ZoneInfo(plan.timezone)
    rows = _rows(plan)
    first, turn, last = _spans(plan, rows, zone)
    beside = width >= 700
    left_width = (width - _GAP) * 0.6 if beside else width
    days = _Axis(first, turn, 0, left_width)
    months = _Axis(turn, last, left_width + _GAP if beside else 0, width - left_width - _GAP if beside else width)
    parts, deep = _panel(days, rows, behind, zone, plan.as_of, dense=True, top=0)
    more, depth = _panel(months, rows, behind, zone, plan.as_of, dense=False, top=0 if beside else deep + 16)
    foot, height = _legend(width, max(deep, depth) + 12)
    title = f"{one_line(plan.yard)}: work from {_day(first, zone)} to {_day(last, zone)}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="season" width="{width}" height="{number(height)}" viewBox="0 0 {width} {number(height)}" role="img" '
        f'aria-labelledby="{name}-title {name}-told" font-family="system-ui, sans-serif" font-size="{number(_SIZE)}">'
    )
    told = "Hands as tags with the number of jobs that day, what waits as bars to the moment they end, and how full the freezer is. The list says the same."
    names = f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-told">{escape(told)}</desc>'
    return "\n".join([head, names, *parts, *more, *foot, "</svg>"]) + "\n"


def season_file(plan: Plan, behind: Behind) -> bytes:
    """The broad picture as a file of its own, with its colours."""
    picture = season_picture(plan, behind)
    head, _, rest = picture.partition("\n")
    return f'<?xml version=\'1.0\' encoding=\'UTF-8\'?>\n{head}\n<style>{COLOURS}</style><rect width="100%" height="100%" fill="#fff"/>\n{rest}'.encode()


COLOURS = (  # the page's where it stands in one, which knows the dark; else those after the comma
    ".season text{fill:var(--ink,#1b1b1b);paint-order:stroke;stroke:var(--paper,#fff);stroke-width:3px;stroke-linejoin:round}"
    ".season .soft{fill:var(--soft,#555)}.season .bold{font-weight:600}.season .night{fill:var(--night,#e6e8ee)}.season .robbing{fill:var(--robbing,#e8ded2)}"
    ".season .rule{stroke:var(--line,#8a8a8a)}.season .day{stroke:var(--line,#8a8a8a);stroke-opacity:.4}.season .frame{fill:none;stroke:var(--line,#8a8a8a)}"
    ".season .hand{fill:var(--press,#1d4f2b);stroke:var(--press,#1d4f2b)}.season .likely{fill:var(--paper,#fff);stroke:var(--press,#1d4f2b);stroke-width:1.5}"
    ".season text.on{fill:var(--on-press,#fff);stroke:none}.season .hold{fill:var(--hold,#cfe3f2);stroke:var(--stop,#16354a)}"
    ".season .maybe{fill:var(--paper,#fff);stroke:var(--stop,#16354a);stroke-dasharray:4 3}.season .stop{stroke:var(--stop,#16354a);stroke-width:4}"
    ".season .fill{fill:var(--hold,#9dbbd0);stroke:var(--stop,#16354a)}.season .kept{fill:none;stroke:var(--mark,#7a1f00);stroke-dasharray:4 3}"
    ".season .due{stroke:var(--mark,#7a1f00);stroke-width:2}.season .now{stroke:var(--mark,#7a1f00);stroke-width:2;stroke-dasharray:2 4}"
    ".season .mark{stroke:var(--soft,#555);stroke-dasharray:1 4}"
)


def _rows(plan: Plan) -> list[_Row]:
    """The lots in order, then what is of the harvest and of the yard."""
    found: dict[tuple[bool, str], list[PlannedTask]] = {}
    several = len({task.harvest for task in plan.tasks if task.lot}) > 1
    for task in plan.tasks:
        if task.has_time and task.is_open and task.alongside is None:
            own = f"{task.harvest}/{task.lot}" if several else f"Lot {task.lot}"
            found.setdefault((not task.lot, one_line(own) if task.lot else "Yard and hives"), []).append(task)
    kinds = {key: "" if key[0] else _kind(tasks) for key, tasks in found.items()}
    return [_Row(key[1], kinds[key], tuple(sorted(found[key], key=lambda task: (task.start, task.id)))) for key in sorted(found)]


def _kind(tasks: Sequence[PlannedTask]) -> str:
    return next((task.stream for task in tasks if task.stream not in ("harvest", "yard")), "")


def _spans(plan: Plan, rows: Sequence[_Row], zone: tzinfo) -> tuple[int, int, int]:
    """The first midnight, the one at which the dense days end, and the last."""
    today = local(plan.as_of, plan.timezone).date()
    ends = [task.finish for row in rows for task in row.tasks] or [plan.as_of]
    busy = {_date(at, zone) for row in rows[:-1] or rows for task in row.tasks for at in _days_of(task) if task.lot}
    day = today
    while (day - today).days < _DENSE[1] and ((day - today).days < _DENSE[0] or any(day + timedelta(n) in busy for n in range(_STILL))):
        day += timedelta(1)
    last = max(_date(max(ends), zone) + timedelta(7), day + timedelta(60))
    return tuple(int(datetime.combine(one, time(0), zone).timestamp()) for one in (today, day, min(last, today + timedelta(330))))  # type: ignore[return-value]


def _days_of(task: PlannedTask) -> Iterator[int]:
    """A moment of each day on which hands are on it or, for what is short, it holds."""
    yield from (begin for begin, _ in task.hands)
    if task.hold_done is not None and task.hold_done - task.holds_from <= 2 * _LONG:
        yield from range(task.holds_from, task.hold_done, DAY // 2)


def _panel(axis: _Axis, rows: Sequence[_Row], behind: Behind, zone: tzinfo, now: int, *, dense: bool, top: float) -> tuple[list[str], float]:
    """The elements of a panel, and how far down it reaches [px]."""
    over = axis.left + axis.width
    words = f"{_day(axis.first, zone)} to {_day(axis.last - DAY, zone)}" if dense else f"On to spring: after {_day(axis.first - DAY, zone)}"
    front = [text(axis.left, top + 16, words, size=15, look="bold")]
    heads, y = (_day_heads if dense else _month_heads)(axis, rows, zone, top + 22)
    begins_at = y
    robbed = [(max(a, axis.first), min(b, axis.last)) for a, b in behind.robbing if axis.has(a, b)]
    back = [rect(axis.x(a), y + 2, axis.x(b) - axis.x(a), 18, "robbing") for a, b in robbed]
    if robbed:
        ends = f"robbing season to {_day(max(b for a, b in behind.robbing if axis.has(a, b)) - DAY, zone)}"
        front.append(text(axis.left + 4, y + 15, ends, size=_SMALL, look="soft"))
        y += 24
    for row in rows:
        drawn, y = _drawn_row(axis, row, zone, y, dense=dense)
        front += drawn
    for freezer, space in behind.freezers:
        if not dense and not _is_used(axis, rows, behind, freezer):
            continue
        drawn, y = _freezer(axis, rows, behind, freezer, space, y)
        front += drawn
    nights = [rect(axis.x(a), begins_at, axis.x(b) - axis.x(a), y - begins_at, "night") for a, b in behind.nights if dense and axis.has(a, b)]
    marks, deep = _marks(axis, behind, zone, begins_at, y)
    nowadays = [line(axis.x(now), begins_at, axis.x(now), y, "now")] if axis.first <= now < axis.last else []
    return [*nights, *back, *heads, *nowadays, *marks, *front, line(axis.left, y, over, y, "rule")], deep


def _day_heads(axis: _Axis, rows: Sequence[_Row], zone: tzinfo, y: float) -> tuple[list[str], float]:
    """Weekday and day over each day, and the hours of hands it takes."""
    found, days = [], _midnights(axis, zone)
    wide_enough = axis.width / max(len(days), 1)
    for at in days:
        day, middle = datetime.fromtimestamp(at, zone), axis.x(at + DAY // 2)
        minutes = sum(max(0, min(b, at + DAY) - max(a, at)) for row in rows for task in row.tasks for a, b in task.hands) // 60
        bold = "bold" if day.weekday() >= 5 else ""
        found.append(line(axis.x(at), y, axis.x(at), y + 50, "day"))
        found.append(text(middle, y + 13, f"{day:%a}" if wide_enough > 30 else f"{day:%a}"[:2], size=_SMALL, anchor="middle", look=bold))
        found.append(text(middle, y + 29, f"{day.day}", anchor="middle", look="bold"))
        if minutes:
            found.append(text(middle, y + 45, _hours(minutes, wide_enough), size=_SMALL, anchor="middle", look="soft"))
    return [*found, text(axis.left, y + 61, "below each date: hours of hands", size=_SMALL, look="soft")], y + 68


def _hours(minutes: int, room: float) -> str:
    """Hours of work, to the half hour where a day is too narrow for minutes: "3:43", "3½"."""
    if room > wide("00:00", _SMALL):
        return f"{minutes // 60}:{minutes % 60:02d}"
    halves = max(1, round(minutes / 30))
    return f"{halves // 2 or ''}{'½' if halves % 2 else ''}"


def _month_heads(axis: _Axis, rows: Sequence[_Row], zone: tzinfo, y: float) -> tuple[list[str], float]:
    """The months along the panel."""
    found: list[str] = []
    day, end = _date(axis.first, zone), _date(axis.last, zone)
    month = day
    while month < end:
        begins = axis.x(datetime.combine(month, time(0), zone).timestamp())
        following = (month.replace(day=1) + timedelta(32)).replace(day=1)
        ends = axis.x(datetime.combine(min(following, end), time(0), zone).timestamp())
        found.append(line(begins, y, begins, y + 20, "day"))
        if ends - begins > wide("Mmm", _SMALL) + 4:
            found.append(text(begins + 3, y + 14, f"{month:%b}", size=_SMALL))
        month = following
    return found, y + 22


def _drawn_row(axis: _Axis, row: _Row, zone: tzinfo, y: float, *, dense: bool) -> tuple[list[str], float]:
    """A lot with its tags and, in as many lanes as they take, its holds and limits."""
    found = [line(axis.left, y, axis.left + axis.width, y, "rule"), text(axis.left, y + 16, row.name, look="bold")]
    if row.kind:
        found.append(text(axis.left + wide(row.name, _SIZE * 1.1) + 8, y + 16, row.kind, size=_SMALL, look="soft"))
    y += 20
    tags = list(_tags(axis, row, zone, y, dense=dense))
    found += tags
    y += _TAG if tags and dense else 16 if tags else 0
    lanes: list[list[tuple[float, float]]] = []
    for spell in _spells(axis, row, zone, dense=dense):
        x, anchor, taken = _beside(axis, spell)
        lane = next((n for n, spans in enumerate(lanes) if all(taken[1] + 4 < a or b + 4 < taken[0] for a, b in spans)), len(lanes))
        if lane == len(lanes):
            lanes.append([])
        lanes[lane].append(taken)
        middle = y + lane * _LANE
        found += [*spell.drawn(middle), text(x, middle + 16, spell.words, anchor=anchor)]
    return found, y + len(lanes) * _LANE + 6


def _tags(axis: _Axis, row: _Row, zone: tzinfo, y: float, *, dense: bool) -> Iterator[str]:
    """One tag for each day with work, or for each week of the long panel: how many jobs, hollow where all of them are only likely."""
    jobs: dict[int, list[tuple[int, bool]]] = {}
    for task in row.tasks:
        for begin, _ in task.hands:
            if axis.first <= begin < axis.last:
                jobs.setdefault((_date(begin, zone) - _date(axis.first, zone)).days // (1 if dense else 7), []).append((begin, task.status == "provisional"))
    half, deep, last = (9.0, 22.0, axis.left - 99) if dense else (4.0, 12.0, axis.left - 99)
    for found in (jobs[step] for step in sorted(jobs)):
        x = axis.x(sum(at for at, _ in found) / len(found))
        x = min(max(x, last + 2 * half + 2, axis.left + half), axis.left + axis.width - half)
        last, likely = x, all(maybe for _, maybe in found)
        yield tag(x, y, half, deep, "likely" if likely else "hand")
        if dense:
            yield text(x, y + 14, str(len(found)), size=_SMALL, anchor="middle", look="" if likely else "on bold")


class _Spell(NamedTuple):
    """A hold or a limit on the axis: its words, from where to where [px], and how it is drawn."""

    words: str
    begins: float
    ends: float
    look: str  # "hold", "maybe" where it is only likely, "due" for a limit
    runs_on: bool = False

    def drawn(self, y: float) -> list[str]:
        """The bar closed by a stop, or the line to an end post."""
        if self.look == "due":
            return [line(self.begins, y + 11, self.ends, y + 11, "due"), line(self.ends, y + 4, self.ends, y + 18, "due")]
        stop = [] if self.runs_on else [line(self.ends, y + 2, self.ends, y + 20, "stop")]
        return [rect(self.begins, y + 4, self.ends - self.begins, 14, self.look, round_by=5), *stop]


def _spells(axis: _Axis, row: _Row, zone: tzinfo, *, dense: bool) -> Iterator[_Spell]:
    """What holds, and in the long panel what is due there."""
    for task in row.tasks:
        card, over = one_line(task.rule.partition("/")[2]) + _where(task), task.hold_done
        if over is not None and axis.has(task.holds_from, over) and (dense or over - task.holds_from > _LONG):
            ends = f"{datetime.fromtimestamp(over, zone):%a %H:%M}" if over < axis.last and dense else _day(over, zone)
            look = "maybe" if task.status == "provisional" else "hold"
            yield _Spell(f"{card} to {ends}", axis.x(task.holds_from), axis.x(over), look, over > axis.last)
        elif not dense and task.due is not None and axis.first <= task.start < axis.last and task.start < task.due and (task.hands or task.all_day):
            yield _Spell(f"{card} by {_day(task.due, zone)}", axis.x(task.start), axis.x(task.due), "due")


def _where(task: PlannedTask) -> str:
    """Whose apiary, where the yard has several: their work is alike."""
    return "" if task.lot or task.place in get_args(Place) else f" {one_line(task.place)}"


def _beside(axis: _Axis, spell: _Spell) -> tuple[float, str, tuple[float, float]]:
    """Where the words of a spell stand (inside, to its right, to its left), and what they and it take of a lane."""
    room, over = wide(spell.words, _SIZE), axis.left + axis.width
    if spell.look != "due" and spell.ends - spell.begins > room + 12:
        return spell.begins + 6, "start", (spell.begins, spell.ends)
    if spell.ends + 6 + room <= over:
        return spell.ends + 6, "start", (spell.begins, spell.ends + 6 + room)
    if spell.begins - 6 - room >= axis.left:
        return spell.begins - 6, "end", (spell.begins - 6 - room, spell.ends)
    return max(axis.left, over - room), "start", (axis.left, over)


def _is_used(axis: _Axis, rows: Sequence[_Row], behind: Behind, name: str) -> bool:
    """Whether something lies in a freezer, or is reserved there, along the axis."""
    lies = any(of == name and axis.has(task.start, task.finish) for row in rows for task in row.tasks for of, _ in task.occupies)
    return lies or any(of == name and axis.has(begins, ends) for of, begins, ends, _, _ in behind.reserved)


def _freezer(axis: _Axis, rows: Sequence[_Row], behind: Behind, name: str, space: float, y: float) -> tuple[list[str], float]:
    """How full a freezer is along the axis, with its peak in litres; what is reserved hangs from the top."""
    over = axis.left + axis.width
    found = [line(axis.left, y, over, y, "rule"), text(axis.left, y + 16, name.capitalize(), look="bold")]
    found.append(text(axis.left + wide(name, _SIZE * 1.1) + 8, y + 16, f"{space * _LITRE:.0f} L", size=_SMALL, look="soft"))
    top, bottom = y + 24, y + 24 + _FILL
    found.append(rect(axis.left, top, axis.width, _FILL, "frame"))
    loads = [(task.start, task.finish, amount) for row in rows for task in row.tasks for of, amount in task.occupies if of == name]
    turns = sorted({axis.first, axis.last, *(at for begins, ends, _ in loads for at in (begins, ends) if axis.first < at < axis.last)})
    fills = [(a, b, sum(amount for begins, ends, amount in loads if begins <= a < ends)) for a, b in pairwise(turns)]
    peak = max(fills, key=lambda one: one[2], default=(0, 0, 0.0))
    for a, b, full in fills:
        if full > 0:
            deep = min(full / space, 1.0) * _FILL
            found.append(rect(axis.x(a), bottom - deep, axis.x(b) - axis.x(a), deep, "fill"))
    for of, begins, ends, amount, why in behind.reserved:
        if of == name and axis.has(begins, ends):
            deep = min(amount / space, 1.0) * _FILL
            found.append(rect(axis.x(begins), top, axis.x(ends) - axis.x(begins), deep, "kept"))
            words = f"{one_line(why) or 'reserved'} {amount * _LITRE:.0f} L"
            x, anchor, _ = _beside(axis, _Spell(words, axis.x(begins), axis.x(ends), "kept"))
            found.append(text(x, top + 14, words, size=_SMALL, anchor=anchor))
    if peak[2] > 0:
        middle = min(max(axis.x((peak[0] + peak[1]) / 2), axis.left + 16), over - 16)
        found.append(text(middle, max(top + 12, bottom - min(peak[2] / space, 1.0) * _FILL - 4), f"{peak[2] * _LITRE:.0f} L", size=_SMALL, anchor="middle"))
    return found, bottom + 6


def _marks(axis: _Axis, behind: Behind, zone: tzinfo, top: float, y: float) -> tuple[list[str], float]:
    """The marks of the season as dotted lines, each with its day below, in as many lanes as their words take."""
    found: list[str] = []
    lanes: list[float] = []
    for name, at in sorted((one for one in behind.marks if axis.first <= one[1] < axis.last), key=lambda one: one[1]):
        x, words = axis.x(at), f"{name} {_day(at, zone)}"
        room = wide(words, _SMALL)
        left = min(max(x - room / 2, axis.left), axis.left + axis.width - room)
        lane = next((n for n, over in enumerate(lanes) if over + 6 < left), len(lanes))
        lanes[lane : lane + 1] = [left + room]
        found += [line(x, top, x, y + 4 + lane * 16, "mark"), text(left, y + 16 + lane * 16, words, size=_SMALL, look="soft")]
    return found, y + len(lanes) * 16 + 8


def _legend(width: float, y: float) -> tuple[list[str], float]:
    """What the shapes stand for, wrapped to the width."""
    found, x = [line(0, y, width, y, "rule")], 0.0
    y += 8
    for look, words in (
        ("hand", "hands, jobs a day"),
        ("likely", "likely"),
        ("hold", "waits to the stop"),
        ("due", "until its last day"),
        ("night", "dark"),
        ("now", "now"),
    ):
        room = 34 + wide(words, _SIZE) + 14
        if x + room > width:
            x, y = 0.0, y + 26
        if look in ("hand", "likely"):
            mark = [tag(x + 13, y, 9, 20, look)]
        elif look in ("hold", "due"):
            mark = _Spell("", x, x + 26, look).drawn(y)
        else:
            mark = [rect(x + 4, y, 18, 20, look) if look == "night" else line(x + 13, y, x + 13, y + 20, look)]
        found += [*mark, text(x + 34, y + 15, words)]
        x += room
    return found, y + 28


def _midnights(axis: _Axis, zone: tzinfo) -> list[int]:
    day, found = _date(axis.first, zone), []
    while (at := int(datetime.combine(day, time(0), zone).timestamp())) < axis.last:
        found.append(at)
        day += timedelta(1)
    return found


def _date(at: int, zone: tzinfo) -> date:
    return datetime.fromtimestamp(at, zone).date()


def _day(at: int, zone: tzinfo) -> str:
    day = _date(at, zone)
    return f"{day.day} {day:%b}"
