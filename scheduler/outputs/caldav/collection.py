"""A calendar collection on a server (RFC 4791): found or created, listed, read, written with preconditions."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from urllib.parse import quote, unquote, urlsplit

from scheduler.outputs.caldav.http import Response, Server, SyncStopped

DAV, CAL = "{DAV:}", "{urn:ietf:params:xml:ns:caldav}"
COMPONENTS = ("VEVENT", "VTODO")
_BATCH = 50  # objects in one answer
_NAMESPACES = 'xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"'
_PROPERTIES = "<d:resourcetype/><d:displayname/><d:current-user-principal/><c:calendar-home-set/><c:supported-calendar-component-set/>"


@dataclass(frozen=True, slots=True)
class Object:
    """A calendar object on the server. `etag` is None where the server gives none."""

    href: str
    etag: str | None
    content: bytes


@dataclass(frozen=True)
class Collection:
    """One calendar on one server. `href` is its path; `components` are the kinds of entry it takes."""

    server: Server
    href: str
    components: tuple[str, ...] = COMPONENTS

    def etags(self) -> dict[str, str | None]:
        """The path and ETag of every object."""
        found = _resources(_expect(_propfind(self.server, self.href, "1", "<d:getetag/><d:resourcetype/>"), 207))
        return {one.href: one.text("getetag") for one in found if one.href.rstrip("/") != self.href.rstrip("/") and not one.resource_types()}

    def fetch(self, hrefs: Sequence[str]) -> list[Object]:
        """The objects at these paths; one that is gone is left out."""
        found: list[Object] = []
        for start in range(0, len(hrefs), _BATCH):
            names = "".join(f"<d:href>{_escape(href)}</d:href>" for href in hrefs[start : start + _BATCH])
            body = f"<c:calendar-multiget {_NAMESPACES}><d:prop><d:getetag/><c:calendar-data/></d:prop>{names}</c:calendar-multiget>"
            response = self.server.request("REPORT", self.href, _xml(body), Depth="1", Content_Type="application/xml; charset=utf-8")
            for one in _resources(_expect(response, 207)):
                text = one.text("calendar-data", CAL)
                if text is not None:  # XML turns CRLF into LF on the way
                    found.append(Object(one.href, one.text("getetag"), text.replace("\r\n", "\n").replace("\n", "\r\n").encode()))
        return found

    def put(self, href: str, content: bytes, etag: str | None, *, new: bool) -> tuple[bool, str | None]:
        """
        Write an object: a new one only where there is none, another only over the version of `etag`.

        Returns whether it was taken (False: somebody else was there first) and its ETag, where the server gives one.
        """
        condition = {"If_None_Match": "*"} if new else {"If_Match": etag} if etag is not None else {}
        response = self.server.request("PUT", href, content, Content_Type="text/calendar; charset=utf-8", **condition)
        if response.status in (404, 409, 412):
            return False, None
        return True, _expect(response, 200, 201, 204).headers.get("etag")

    def delete(self, href: str, etag: str | None) -> bool:
        """Delete the version of `etag`. False where somebody changed it meanwhile."""
        response = self.server.request("DELETE", href, **({"If_Match": etag} if etag is not None else {}))
        return response.status != 412 and bool(_expect(response, 200, 204, 404, 410))


def find_or_create(server: Server, name: str, slug: str) -> Collection:
    """
    The calendar at the server's address, or the one called `name` of the user; it is created, as `slug`, where there is none.

    The way there is RFC 5397 (principal), RFC 4791 section 6.2.1 (home) and 5.3.1 (MKCALENDAR).
    """
    at = _resource_at(server, server.url)
    if at is None:
        at = _resource_at(server, "/.well-known/caldav")  # RFC 6764 section 5
    if at is None:
        raise SyncStopped("there is no CalDAV server at this address", "--url with the address that your calendar's settings show for CalDAV")
    if f"{CAL}calendar" in at.resource_types():
        return _collection(server, at)
    principal = at.inner_href("current-user-principal")
    if principal is None and not at.inner_href("calendar-home-set", CAL):
        raise SyncStopped("the server does not say whose calendars these are", "--user NAME with the password, or --url of one calendar")
    home = at.inner_href("calendar-home-set", CAL)
    if home is None and principal is not None:
        seen = _resource_at(server, principal)
        home = seen.inner_href("calendar-home-set", CAL) if seen else None
    if home is None:
        raise SyncStopped("the server names no place for calendars", "--url of one calendar")
    home = home if home.endswith("/") else home + "/"
    for one in _resources(_expect(_propfind(server, home, "1", _PROPERTIES), 207)):
        if f"{CAL}calendar" in one.resource_types() and (one.text("displayname") == name or one.href.rstrip("/").endswith(f"/{slug}")):
            return _collection(server, one)
    return _create(server, home + slug + "/", name)


def _create(server: Server, url: str, name: str) -> Collection:
    kinds = "".join(f'<c:comp name="{kind}"/>' for kind in COMPONENTS)
    wanted = f"<d:displayname>{_escape(name)}</d:displayname><c:supported-calendar-component-set>{kinds}</c:supported-calendar-component-set>"
    body = f"<c:mkcalendar {_NAMESPACES}><d:set><d:prop>{wanted}</d:prop></d:set></c:mkcalendar>"
    response = server.request("MKCALENDAR", url, _xml(body), Content_Type="application/xml; charset=utf-8")
    _expect(response, 200, 201, 405, 409)  # 405: it was made meanwhile
    made = _resource_at(server, url)
    if made is None or f"{CAL}calendar" not in made.resource_types():
        raise SyncStopped("the server did not make the calendar", "--url of a calendar that exists")
    return _collection(server, made)


def _collection(server: Server, one: _Resource) -> Collection:
    kinds = tuple(part.get("name", "") for part in one.all("comp", CAL))
    return Collection(server, one.href, tuple(kind for kind in COMPONENTS if kind in kinds) if kinds else COMPONENTS)


@dataclass(frozen=True)
class _Resource:
    """One resource of a multistatus answer: its path, and the properties it has."""

    href: str
    properties: tuple[ET.Element, ...]

    def text(self, name: str, space: str = DAV) -> str | None:
        return next((one.text or "" for one in self.properties if one.tag == space + name), None)

    def inner_href(self, name: str, space: str = DAV) -> str | None:
        """The href inside a property."""
        for one in self.properties:
            if one.tag == space + name and (href := one.findtext(f"{DAV}href")):
                return href.strip()
        return None

    def resource_types(self) -> set[str]:
        return {kind.tag for one in self.properties if one.tag == f"{DAV}resourcetype" for kind in one}

    def all(self, name: str, space: str) -> Iterator[ET.Element]:
        for one in self.properties:
            yield from one.iter(space + name)


def _resource_at(server: Server, url: str) -> _Resource | None:
    response = _propfind(server, url, "0", _PROPERTIES)
    return next(iter(_resources(response)), None) if response.status == 207 else None


def _propfind(server: Server, where: str, depth: str, properties: str) -> Response:
    body = _xml(f"<d:propfind {_NAMESPACES}><d:prop>{properties}</d:prop></d:propfind>")
    return server.request("PROPFIND", where, body, Depth=depth, Content_Type="application/xml; charset=utf-8")


def _expect(response: Response, *statuses: int) -> Response:
    if response.status not in statuses:
        raise SyncStopped(
            f"the server answers {response.status}, which is not foreseen here", "it again in a while; what was done so far holds", response.status
        )
    return response


class _Tree(ET.TreeBuilder):
    """Refuses a document type where it begins, before any entity in it could be expanded."""

    def doctype(self, name: str, pubid: str | None, system: str | None) -> None:
        raise ValueError("it declares a document type")


def _resources(response: Response) -> list[_Resource]:
    """The resources of a 207 answer."""
    try:
        root = ET.fromstring(response.content, ET.XMLParser(target=_Tree()))
    except (ET.ParseError, ValueError) as error:
        raise SyncStopped(f"the server's answer is not XML that can be read: {error}", "it again; if it stays so, ask who runs the server") from None
    found = []
    for one in root.iter(f"{DAV}response"):
        states = [state for state in one.findall(f"{DAV}propstat") if " 200" in (state.findtext(f"{DAV}status") or "")]
        found.append(_Resource(_path(one.findtext(f"{DAV}href") or ""), tuple(part for state in states for part in state.findall(f"{DAV}prop/*"))))
    return found


def _path(href: str) -> str:
    """A path in one spelling: servers differ in what they quote."""
    try:
        return quote(unquote(urlsplit(href.strip()).path))
    except ValueError:
        raise SyncStopped(f"the server names an address that cannot be read, {href[:60]!r}", "--url of a calendar on another server") from None


def _xml(body: str) -> bytes:
    return f'<?xml version="1.0" encoding="utf-8"?>{body}'.encode()


def _escape(text: str) -> str:
    return "".join({"&": "&amp;", "<": "&lt;", ">": "&gt;"}.get(sign, sign) for sign in text if sign.isprintable())
