"""A whole calendar: a header, the zones, the entries' bytes as they were published, and a closing line. Joined, not rendered again."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, vDDDTypes, vDuration, vText

from scheduler.local_time import local
from scheduler.outputs.calendar.content_lines import folded
from scheduler.outputs.calendar.entries import beyond, entries
from scheduler.outputs.calendar.feed_selection import Selection, selected
from scheduler.outputs.calendar.publication import Published, publish
from scheduler.outputs.calendar.uids import calendar_uid
from scheduler.outputs.calendar.vtimezone import vtimezone
from scheduler.outputs.plain_text import one_line
from scheduler.planning.plan import Plan
from scheduler.planning.sittings import sittings

PRODID = "-//afterpull//EN"
REFRESH = timedelta(hours=1)
DESCRIPTION = "Work after the honey supers come off. Why a date is what it is: afterpull why TASK"
COLOUR = "teal"  # a name of CSS 3, as RFC 7986 section 5.9 asks
_ZONED = (b"\r\nDTSTART;TZID=", b"\r\nDTEND;TZID=", b"\r\nDUE;TZID=")
_END = b"END:VCALENDAR\r\n"
ZoneAndYear = tuple[str, int]


def calendar(
    plan: Plan,
    *,
    name: str,
    stamp: datetime,
    published: Mapping[str, Published] | None = None,
    todos: bool = False,
    holds: bool = False,
    streams: Collection[str] | None = None,
    everything: bool = True,
) -> bytes:
    """
    A plan as one calendar file. `stamp` (aware) is when it is written; entries already `published` keep their revision and time.

    Without `everything` only three weeks, and the next of each series.
    """
    evenings = sittings(plan.tasks, plan.timezone)
    made = entries(plan, todos=todos, holds=holds, streams=streams, evenings=evenings)
    state = publish(made, published or {}, int(stamp.timestamp()))
    if not everything:
        state = selected(state, Selection(todos, holds), beyond(plan, evenings))
    return b"".join(feed(state, name=name, yard=plan.yard, if_empty=zone_and_year(plan)))


def zone_and_year(plan: Plan) -> ZoneAndYear:
    """The zone of a plan's yard, and the year it is made in."""
    return plan.timezone, local(plan.as_of, plan.timezone).year


def feed(published: Mapping[str, Published], *, name: str, yard: str, part: str = "", if_empty: ZoneAndYear | None = None) -> Iterator[bytes]:
    """
    What was published as a stream of bytes; the same state gives the same bytes, so a hash of them serves as an ETag.

    `part` says in words which part of the yard's work it is: each part is a calendar of its own, with its own UID and name.
    """
    contents = [state.content for state in published.values()]
    uid, modified = calendar_uid(yard, part), last_modified(published)
    return calendar_stream(contents, name=f"{name}, {part}" if part else name, uid=uid, modified=modified, if_empty=if_empty)


def last_modified(published: Mapping[str, Published]) -> int | None:
    """When the last of these entries changed [s since 1970]; None where there are none."""
    return max((state.last_modified for state in published.values()), default=None)


def with_source(content: bytes, address: str) -> bytes:
    """A rendered calendar that names the address it is fetched from (RFC 7986 section 5.8)."""
    line = folded(f"SOURCE;VALUE=URI:{address}") + b"\r\n"
    return content.replace(b"\r\nREFRESH-INTERVAL", b"\r\n" + line + b"REFRESH-INTERVAL", 1)


def calendar_stream(
    contents: Iterable[bytes], *, name: str, uid: str, modified: int | None = None, if_empty: ZoneAndYear | None = None, stored: bool = False
) -> Iterator[bytes]:
    """
    A whole calendar as a stream: header, one VTIMEZONE for each zone that an entry names, the entries, the closing line.

    `contents` are component bytes, gone through twice: an iterator is first made a list. Zones cover the years of the entries and two more.
    `if_empty` is the VTIMEZONE of a calendar without entries, which needs at least one component (RFC 5545 section 3.6). One that a calendar
    server has `stored` is an entry by itself, and says nothing of the calendar it stands in.
    """
    components = contents if isinstance(contents, list | tuple) else list(contents)
    zones = _zones(components) if components or if_empty is None else {if_empty[0]: (if_empty[1], if_empty[1])}
    yield _header(name, uid, modified, None if stored else "".join(zones) if len(zones) == 1 else "")
    for zone, (first, last) in sorted(zones.items()):
        yield vtimezone(zone, first, last + 2).to_ical()
    yield from components
    yield _END


def _zones(contents: Iterable[bytes]) -> dict[str, tuple[int, int]]:
    """The zones that the components name, each with the first and the last year it is needed for."""
    spans: dict[bytes, tuple[int, int]] = {}
    for content in contents:
        for property_ in _ZONED:  # plain searches: over a whole season's feed they take a fifth of a regular expression's time
            begun = content.find(property_)
            if begun >= 0:
                zone, _, moment = content[begun + len(property_) : content.index(b"\r", begun + 2)].partition(b":")
                year = int(moment[:4])
                first, last = spans.get(zone, (year, year))
                spans[zone] = min(first, year), max(last, year)
    return {zone.decode(): span for zone, span in spans.items()}


def _header(name: str, uid: str, modified: int | None, zone: str | None) -> bytes:
    """RFC 7986 properties; it gives REFRESH-INTERVAL no default type, so VALUE is written, which the library leaves out.

    X-WR-CALNAME, X-WR-TIMEZONE and X-PUBLISHED-TTL are read by clients that are older than it: no standard, but long in common use.
    """
    calendar = Calendar()
    calendar["PRODID"], calendar["VERSION"], calendar["CALSCALE"] = vText(PRODID), vText("2.0"), vText("GREGORIAN")
    calendar["UID"], calendar["NAME"] = vText(uid), vText(one_line(name))
    calendar["X-WR-CALNAME"] = vText(one_line(name))
    if zone is not None:
        calendar["DESCRIPTION"], calendar["COLOR"], calendar["X-PUBLISHED-TTL"] = vText(DESCRIPTION), vText(COLOUR), vDuration(REFRESH)
    if zone:
        calendar["X-WR-TIMEZONE"] = vText(zone)
    calendar["REFRESH-INTERVAL"] = vDuration(REFRESH, params={"VALUE": "DURATION"})
    if modified is not None:
        calendar["LAST-MODIFIED"] = vDDDTypes(datetime.fromtimestamp(modified, UTC))
    content: bytes = calendar.to_ical()
    return content.removesuffix(_END)
