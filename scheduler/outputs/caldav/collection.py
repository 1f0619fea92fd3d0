"""A calendar collection on a server (RFC 4791): found or made, listed, read, written with preconditions."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import quote, unquote, urlsplit

from scheduler.outputs.caldav.http import Answer, Server, Stopped

DAV, CAL = "{DAV:}", "{urn:ietf:params:xml:ns:caldav}"
ENTRIES = ("VEVENT", "VTODO")
_AT_ONCE = 50  # objects in one answer
_NAMESPACES = 'xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"'
_FOUND = "<d:resourcetype/><d:displayname/><d:current-user-principal/><c:calendar-home-set/><c:supported-calendar-component-set/>"


@dataclass(frozen=True, slots=True)
class Object:
    """A calendar object on the server. `etag` is None where the server tells none."""

    href: str
    etag: str | None
    content: bytes


@dataclass(frozen=True)
class Collection:
    """One calendar on one server. `href` is its path; `holds` are the kinds of entry it takes."""

    server: Server
    href: str
    holds: tuple[str, ...] = ENTRIES

    def listed(self) -> dict[str, str | None]:
        """The path and ETag of every object."""
        found = _responses(_ask(self.server, "PROPFIND", self.href, "1", "<d:getetag/><d:resourcetype/>"))
        return {one.href: one.text("getetag") for one in found if one.href.rstrip("/") != self.href.rstrip("/") and not one.kinds()}

    def fetch(self, hrefs: Sequence[str]) -> list[Object]:
        """The objects at these paths; one that is gone is left out."""
        found: list[Object] = []
        for start in range(0, len(hrefs), _AT_ONCE):
            names = "".join(f"<d:href>{_escaped(href)}</d:href>" for href in hrefs[start : start + _AT_ONCE])
            body = f"<c:calendar-multiget {_NAMESPACES}><d:prop><d:getetag/><c:calendar-data/></d:prop>{names}</c:calendar-multiget>"
            answer = self.server.ask("REPORT", self.href, _document(body), Depth="1", Content_Type="application/xml; charset=utf-8")
            for one in _responses(_expected(answer, 207)):
                text = one.text("calendar-data", CAL)
                if text is not None:  # XML turns CRLF into LF on the way
                    found.append(Object(one.href, one.text("getetag"), text.replace("\r\n", "\n").replace("\n", "\r\n").encode()))
        return found

    def put(self, href: str, content: bytes, etag: str | None, *, new: bool) -> tuple[bool, str | None]:
        """
        Write an object: a new one only where there is none, another only over the version of `etag`.

        Returns whether it was taken (False: somebody else was there first) and its ETag, where the server tells one.
        """
        condition = {"If_None_Match": "*"} if new else {"If_Match": etag} if etag is not None else {}
        answer = self.server.ask("PUT", href, content, Content_Type="text/calendar; charset=utf-8", **condition)
        if answer.status in (404, 409, 412):
            return False, None
        return True, _expected(answer, 200, 201, 204).headers.get("etag")

    def delete(self, href: str, etag: str | None) -> bool:
        """Delete the version of `etag`. False where somebody changed it meanwhile."""
        answer = self.server.ask("DELETE", href, **({"If_Match": etag} if etag is not None else {}))
        return answer.status != 412 and bool(_expected(answer, 200, 204, 404, 410))


def find(server: Server, name: str, slug: str) -> Collection:
    """
    The calendar at the server's address, or the one called `name` of the person who asks; it is made, as `slug`, where there is none.

    The way there is RFC 5397 (principal), RFC 4791 section 6.2.1 (home) and 5.3.1 (MKCALENDAR).
    """
    at = _look(server, server.url)
    if at is None:
        at = _look(server, "/.well-known/caldav")  # RFC 6764 section 5
    if at is None:
        raise Stopped("there is no CalDAV server at this address", "--url with the address that your calendar's settings show for CalDAV")
    if f"{CAL}calendar" in at.kinds():
        return _collection(server, at)
    principal = at.inner("current-user-principal")
    if principal is None and not at.inner("calendar-home-set", CAL):
        raise Stopped("the server does not say whose calendars these are", "--user NAME with the password, or --url of one calendar")
    home = at.inner("calendar-home-set", CAL)
    if home is None and principal is not None:
        seen = _look(server, principal)
        home = seen.inner("calendar-home-set", CAL) if seen else None
    if home is None:
        raise Stopped("the server names no place for calendars", "--url of one calendar")
    home = home if home.endswith("/") else home + "/"
    for one in _responses(_ask(server, "PROPFIND", home, "1", _FOUND)):
        if f"{CAL}calendar" in one.kinds() and (one.text("displayname") == name or one.href.rstrip("/").endswith(f"/{slug}")):
            return _collection(server, one)
    return _make(server, home + slug + "/", name)


def _make(server: Server, url: str, name: str) -> Collection:
    kinds = "".join(f'<c:comp name="{kind}"/>' for kind in ENTRIES)
    wanted = f"<d:displayname>{_escaped(name)}</d:displayname><c:supported-calendar-component-set>{kinds}</c:supported-calendar-component-set>"
    body = f"<c:mkcalendar {_NAMESPACES}><d:set><d:prop>{wanted}</d:prop></d:set></c:mkcalendar>"
    answer = server.ask("MKCALENDAR", url, _document(body), Content_Type="application/xml; charset=utf-8")
    _expected(answer, 200, 201, 405, 409)  # 405: it was made meanwhile
    made = _look(server, url)
    if made is None or f"{CAL}calendar" not in made.kinds():
        raise Stopped("the server did not make the calendar", "--url of a calendar that exists")
    return _collection(server, made)


def _collection(server: Server, one: _Response) -> Collection:
    kinds = tuple(part.get("name", "") for part in one.all("comp", CAL))
    return Collection(server, one.href, tuple(kind for kind in ENTRIES if kind in kinds) if kinds else ENTRIES)


@dataclass(frozen=True)
class _Response:
    """One resource of a multistatus answer: its path, and the properties it has."""

    href: str
    properties: tuple[ET.Element, ...]

    def text(self, name: str, space: str = DAV) -> str | None:
        return next((one.text or "" for one in self.properties if one.tag == space + name), None)

    def inner(self, name: str, space: str = DAV) -> str | None:
        """The href inside a property."""
        for one in self.properties:
            if one.tag == space + name and (href := one.findtext(f"{DAV}href")):
                return href.strip()
        return None

    def kinds(self) -> set[str]:
        return {kind.tag for one in self.properties if one.tag == f"{DAV}resourcetype" for kind in one}

    def all(self, name: str, space: str) -> Iterator[ET.Element]:
        for one in self.properties:
            yield from one.iter(space + name)


def _look(server: Server, url: str) -> _Response | None:
    answer = server.ask(
        "PROPFIND", url, _document(f"<d:propfind {_NAMESPACES}><d:prop>{_FOUND}</d:prop></d:propfind>"), Depth="0", Content_Type="application/xml"
    )
    return next(iter(_responses(answer)), None) if answer.status == 207 else None


def _ask(server: Server, method: str, where: str, depth: str, properties: str) -> Answer:
    body = _document(f"<d:propfind {_NAMESPACES}><d:prop>{properties}</d:prop></d:propfind>")
    return _expected(server.ask(method, where, body, Depth=depth, Content_Type="application/xml; charset=utf-8"), 207)


def _expected(answer: Answer, *statuses: int) -> Answer:
    if answer.status not in statuses:
        raise Stopped(f"the server answers {answer.status}, which is not foreseen here", "it again in a while; what was done so far holds", answer.status)
    return answer


class _Tree(ET.TreeBuilder):
    """Refuses a document type where it begins, before any entity in it could be expanded."""

    def doctype(self, name: str, pubid: str | None, system: str | None) -> None:
        raise ValueError("it declares a document type")


def _responses(answer: Answer) -> list[_Response]:
    """The resources of a 207 answer."""
    try:
        root = ET.fromstring(answer.content, ET.XMLParser(target=_Tree()))
    except (ET.ParseError, ValueError) as error:
        raise Stopped(f"the server's answer is not XML that can be read: {error}", "it again; if it stays so, tell who runs the server") from None
    found = []
    for one in root.iter(f"{DAV}response"):
        states = [state for state in one.findall(f"{DAV}propstat") if " 200" in (state.findtext(f"{DAV}status") or "")]
        found.append(_Response(_path(one.findtext(f"{DAV}href") or ""), tuple(part for state in states for part in state.findall(f"{DAV}prop/*"))))
    return found


def _path(href: str) -> str:
    """A path in one spelling: servers differ in what they quote."""
    try:
        return quote(unquote(urlsplit(href.strip()).path))
    except ValueError:
        raise Stopped(f"the server names an address that can not be read, {href[:60]!r}", "--url of a calendar on another server") from None


def _document(body: str) -> bytes:
    return f'<?xml version="1.0" encoding="utf-8"?>{body}'.encode()


def _escaped(text: str) -> str:
    return "".join({"&": "&amp;", "<": "&lt;", ">": "&gt;"}.get(sign, sign) for sign in text if sign.isprintable())
