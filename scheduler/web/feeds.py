"""The calendar feeds over HTTP (RFC 9110): under a secret address for each person, "not modified" without rendering, compressed.

Every other address answers 404, so that nothing tells a wrong secret from a path that never was. Answers are private to the person: no cache on the
way may keep them, and no page that is linked to learns the address.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from email.utils import formatdate

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from scheduler.application.feed_addresses import Address, addresses, fetched, whose
from scheduler.application.publish import Feeds, filtered
from scheduler.diagnostics import Fault, Refused

HEADERS = {
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Robots-Tag": "noindex",
}
LOOPBACK = ("127.0.0.1", "::1")
Endpoint = Callable[[Request], Awaitable[Response] | Response]


class Addresses:
    """The addresses in force, read again when the ledger has grown."""

    def __init__(self, feeds: Feeds) -> None:
        self._feeds, self._position, self._known = feeds, -1, dict[str, Address]()

    def person(self, secret: str) -> tuple[str, Address] | None:
        """Whose secret this is, with what their address shows; None where it is nobody's."""
        position = self._feeds.ledger.position()
        if position != self._position:
            self._known, self._position = addresses(self._feeds.ledger.facts()), position
        person = whose(secret, self._known)
        return (person, self._known[person]) if person is not None else None


def application(feeds: Feeds, base: str = "", beside: Sequence[Route] = ()) -> Starlette:
    """
    The ASGI application that serves the feeds of one ledger, and what stands `beside` them.

    `base` is the address it is reached at, where that is known (SOURCE of RFC 7986).
    """
    unknown = {404: lambda request, error: _not_found()}
    app = Starlette(routes=[*routes(feeds, base), *beside], middleware=[Middleware(GZipMiddleware, minimum_size=500)], exception_handlers=unknown)
    app.router.redirect_slashes = False  # it would lead to whatever host the request names
    return app


def routes(feeds: Feeds, base: str = "") -> list[Route]:
    """`/feed/SECRET.ics?todos=1&holds=1&hands-on=1&all=1&yard=kestrel-bank&stream=cut+comb&place=apiary&person=keeper`; a page may stand beside them."""
    return [Route("/feed/{secret}.ics", _endpoint(feeds, Addresses(feeds), base), methods=["GET", "HEAD"])]


def _endpoint(feeds: Feeds, known: Addresses, base: str) -> Endpoint:
    def feed(request: Request) -> Response:
        """Answered in a thread of its own, since it may plan."""
        try:
            secret = request.path_params["secret"]
            subscriber = known.person(secret)
            if subscriber is None:
                return _not_found()
            asked = request.query_params.multi_items()
            name, address = subscriber
            if address.own and "person" not in dict(asked):
                asked.append(("person", name))
            found = feeds.rendered(filtered(asked))
            fetched(feeds.ledger, name, feeds.now(), here=request.client is None or request.client.host in LOOPBACK)
        except Fault as fault:
            return PlainTextResponse(f"{fault.message}\n    write {fault.write}\n", 400, HEADERS)
        except Refused:
            return PlainTextResponse("the plan cannot be made; afterpull agenda says why\n", 503, {**HEADERS, "Retry-After": "900"})
        tag = f'W/"{found.etag}"'  # weak: the compressed answer has other octets (RFC 9110 section 8.8.1)
        headers = {**HEADERS, "ETag": tag, "Vary": "Accept-Encoding", "Content-Disposition": f'inline; filename="{found.file_name}"'}
        if found.modified is not None:
            headers["Last-Modified"] = formatdate(found.modified, usegmt=True)
        if _matches(request.headers, tag):
            return Response(status_code=304, headers=headers)
        content = found.fetched_from(f"{base}/feed/{secret}.ics") if base else found.content
        return Response(content, media_type="text/calendar; charset=utf-8", headers=headers)

    return feed


def _not_found() -> Response:
    return PlainTextResponse("not found\n", 404, HEADERS)


def _matches(headers: Mapping[str, str], tag: str) -> bool:
    """Whether If-None-Match names this content, compared weakly (RFC 9110 section 13.1.2)."""
    asked = headers.get("if-none-match", "")
    return asked.strip() == "*" or tag.removeprefix("W/") in {one.strip().removeprefix("W/") for one in asked.split(",")}
