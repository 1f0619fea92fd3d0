"""A calendar on a server is found on the way that the standards name, read, and written over no version but the one that was seen.

The answers are shaped after the examples of RFC 4791 (sections 5.3.1, 7.8.1, 7.9) and RFC 5397; the server and its people are invented.
"""

from __future__ import annotations

from typing import Any, cast

import pytest

from scheduler.outputs.caldav.collection import COMPONENTS, Collection, find_or_create
from scheduler.outputs.caldav.http import Response, Server, SyncStopped

HOME = "/home/kim/"
ROOT = "<d:resourcetype><d:collection/></d:resourcetype>"
CALENDAR = "<d:resourcetype><d:collection/><c:calendar/></d:resourcetype>"
PRINCIPAL = "<d:current-user-principal><d:href>/people/kim/</d:href></d:current-user-principal>"
AT_HOME = f"<c:calendar-home-set><d:href>{HOME}</d:href></c:calendar-home-set>"


def resource(href: str, properties: str, status: str = "200 OK") -> str:
    """One resource of a multistatus answer."""
    return f"<d:response><d:href>{href}</d:href><d:propstat><d:prop>{properties}</d:prop><d:status>HTTP/1.1 {status}</d:status></d:propstat></d:response>"


class Scripted:
    """Answers each method at each path as it was told to, 404 elsewhere; keeps what it was asked."""

    url = "/dav/"

    def __init__(self, answers: dict[tuple[str, str], tuple[int, str]]) -> None:
        self.answers, self.asked = answers, list[tuple[str, str, dict[str, str], bytes]]()

    def request(self, method: str, url: str, body: bytes = b"", **headers: str) -> Response:
        self.asked.append((method, url, headers, body))
        status, text = self.answers.get((method, url), (404, ""))
        whole = f'<d:multistatus xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav">{text}</d:multistatus>'
        return Response(status, {"etag": '"2"'}, whole.encode() if status == 207 else b"")


def found(answers: dict[tuple[str, str], tuple[int, str]]) -> tuple[str, Scripted]:
    """Where the yard's calendar lies, and what the server was asked."""
    server = Scripted(answers)
    return find_or_create(cast(Server, server), "Kestrel & Bank", "kestrel-bank").href, server


def collection(answers: dict[tuple[str, str], tuple[int, str]]) -> tuple[Collection, Scripted]:
    """A calendar on such a server."""
    server = Scripted(answers)
    return Collection(cast(Server, server), "/home/kim/bees/"), server


def at(href: str, properties: str) -> dict[tuple[str, str], tuple[int, str]]:
    """A PROPFIND there answers this."""
    return {("PROPFIND", href): (207, resource(href, properties))}


def test_an_address_of_a_calendar_is_that_calendar() -> None:
    """Nothing else is asked."""
    href, server = found(at("/dav/", CALENDAR))
    assert (href, len(server.asked)) == ("/dav/", 1)


@pytest.mark.parametrize("start", ["/dav/", "/.well-known/caldav"])
@pytest.mark.parametrize("listed", [f"<d:displayname>Kestrel &amp; Bank</d:displayname>{CALENDAR}", CALENDAR])
def test_the_way_is_principal_home_and_the_calendar_of_that_name(start: str, listed: str) -> None:
    """RFC 6764 section 5 where the address alone leads nowhere; by its display name, or by its path."""
    href = HOME + ("kestrel-bank/" if "displayname" not in listed else "x1/")
    answers = at(start, ROOT + PRINCIPAL) | at("/people/kim/", ROOT + AT_HOME)
    answers["PROPFIND", HOME] = (207, resource(HOME, ROOT) + resource(f"{HOME}other/", CALENDAR) + resource(href, listed))
    assert found(answers)[0] == href


def test_a_calendar_that_is_not_there_is_made_and_then_looked_at() -> None:
    """RFC 4791 section 5.3.1; its name is written as XML has it."""
    answers = at("/dav/", ROOT + AT_HOME)
    answers["PROPFIND", HOME] = (207, resource(HOME, ROOT))
    answers["MKCALENDAR", f"{HOME}kestrel-bank/"] = (201, "")
    answers |= at(f"{HOME}kestrel-bank/", f'{CALENDAR}<c:supported-calendar-component-set><c:comp name="VTODO"/></c:supported-calendar-component-set>')
    server = Scripted(answers)
    made = find_or_create(cast(Server, server), "Kestrel & Bank", "kestrel-bank")
    assert (made.href, made.components) == (f"{HOME}kestrel-bank/", ("VTODO",))
    [body] = [body for method, _, _, body in server.asked if method == "MKCALENDAR"]
    assert b"<d:displayname>Kestrel &amp; Bank</d:displayname>" in body


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({}, "there is no CalDAV server at this address"),
        (at("/dav/", ROOT), "the server does not say whose calendars these are"),
        (at("/dav/", ROOT + PRINCIPAL), "the server names no place for calendars"),
        (
            at("/dav/", ROOT + AT_HOME) | {("PROPFIND", HOME): (207, ""), ("MKCALENDAR", f"{HOME}kestrel-bank/"): (201, "")},
            "the server did not make the calendar",
        ),
        (at("/dav/", ROOT + AT_HOME) | {("PROPFIND", HOME): (207, ""), ("MKCALENDAR", f"{HOME}kestrel-bank/"): (418, "")}, "the server answers 418"),
    ],
)
def test_a_way_that_ends_nowhere_says_where_it_ended(answers: dict[tuple[str, str], tuple[int, str]], said: str) -> None:
    """And what address to give instead."""
    with pytest.raises(SyncStopped, match=said):
        found(answers)


def test_what_a_server_lists_is_its_objects_and_not_its_folders() -> None:
    """Paths in one spelling, whatever a server quotes; a property that it has not is none."""
    tag = '<d:getetag>"1"</d:getetag><d:resourcetype/>'
    listed = resource("/home/kim/bees/", ROOT) + resource("/home/kim/bees/a%2eics", tag) + resource("/home/kim/bees/sub/", ROOT)
    listed += resource("/home/kim/bees/b.ics", "<d:getetag/>", "404 Not Found")
    calendar, _ = collection({("PROPFIND", "/home/kim/bees/"): (207, listed)})
    assert calendar.etags() == {"/home/kim/bees/a.ics": '"1"', "/home/kim/bees/b.ics": None}


def test_objects_are_fetched_fifty_at_a_time_and_get_their_line_ends_back() -> None:
    """XML turns CRLF into LF on the way; one that is gone is left out."""
    data = resource("/a.ics", '<d:getetag>"1"</d:getetag><c:calendar-data>BEGIN:VCALENDAR\nEND:VCALENDAR\n</c:calendar-data>')
    calendar, server = collection({("REPORT", "/home/kim/bees/"): (207, data + resource("/gone.ics", "", "404 Not Found"))})
    objects = calendar.fetch([f"/{number}.ics" for number in range(101)])
    assert len(server.asked) == 3
    assert objects[0].content == b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"
    assert len(objects) == 3
    assert calendar.fetch([]) == []


@pytest.mark.parametrize(
    ("etag", "new", "condition"),
    [(None, True, {"If_None_Match": "*"}), ('"1"', False, {"If_Match": '"1"'}), (None, False, {}), ('"1"', True, {"If_None_Match": "*"})],
)
def test_nothing_is_written_over_a_version_that_was_not_seen(etag: str | None, new: bool, condition: dict[str, str]) -> None:
    """RFC 9110 section 13.1: only where there is none, or only over that one; where somebody was first it is told so."""
    calendar, server = collection({("PUT", "/a.ics"): (204, "")})
    taken: Any = calendar.put("/a.ics", b"x", etag, new=new)
    assert taken == (True, '"2"')
    assert {name: value for name, value in server.asked[0][2].items() if name.startswith("If")} == condition
    for status in (404, 409, 412):
        refused, _ = collection({("PUT", "/a.ics"): (status, "")})
        assert refused.put("/a.ics", b"x", etag, new=new) == (False, None)
    with pytest.raises(SyncStopped, match="the server answers 418"):
        collection({("PUT", "/a.ics"): (418, "")})[0].put("/a.ics", b"x", etag, new=new)


@pytest.mark.parametrize(("status", "gone"), [(204, True), (404, True), (410, True), (412, False)])
def test_what_is_gone_already_is_deleted_and_what_was_changed_is_not(status: int, gone: bool) -> None:
    """Somebody else was there first."""
    calendar, server = collection({("DELETE", "/a.ics"): (status, "")})
    assert calendar.delete("/a.ics", '"1"') is gone
    assert server.asked[0][2] == {"If_Match": '"1"'}
    calendar.delete("/a.ics", None)
    assert server.asked[1][2] == {}


def test_a_calendar_that_does_not_say_takes_events_and_to_dos() -> None:
    """RFC 4791 section 5.2.3: without the property any kind may be put there."""
    server = Scripted(at("/dav/", CALENDAR))
    assert find_or_create(cast(Server, server), "x", "x").components == COMPONENTS
