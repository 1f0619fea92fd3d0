"""The calendar feeds over HTTP (RFC 9110): under a secret address for each person, "not modified" without rendering, compressed.

Every other address answers 404, so that nothing tells a wrong secret from a path that never was. Answers are private to the person: no cache on the
way may keep them, and no page that is linked to learns the address.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from scheduler.application.feed_addresses import hashes, whose
from scheduler.application.publish import Feeds, select
from scheduler.diagnostics import Fault, Refused
from scheduler.outputs.calendar.feed_selection import Selection

HEADERS = {
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Robots-Tag": "noindex",
}
_SWITCHES = ("todos", "holds", "hands-on")
_FILTERS = {"yard": "yards", "stream": "streams", "place": "places", "person": "people"}
Endpoint = Callable[[Request], Awaitable[Response] | Response]


class Addresses:
    """The hashes in force, read again when the ledger has grown."""

    def __init__(self, feeds: Feeds) -> None:
        self._feeds, self._position, self._hashes = feeds, -1, dict[str, str]()

    def person(self, secret: str) -> str | None:
        """Whose secret this is, or None."""
        position = self._feeds.ledger.position()
        if position != self._position:
            self._hashes, self._position = hashes(self._feeds.ledger.facts()), position
        return whose(secret, self._hashes)


def application(feeds: Feeds) -> Starlette:
    """The ASGI application that serves the feeds of one ledger."""
    unknown = {404: lambda request, error: _not_found()}
    app = Starlette(routes=routes(feeds), middleware=[Middleware(GZipMiddleware, minimum_size=500)], exception_handlers=unknown)
    app.router.redirect_slashes = False  # it would lead to whatever host the request names
    return app


def routes(feeds: Feeds) -> list[Route]:
    """`/feed/SECRET.ics?todos=1&holds=1&hands-on=1&yard=kestrel-bank&stream=cut+comb&place=apiary&person=keeper`; a page may stand beside them."""
    return [Route("/feed/{secret}.ics", _endpoint(feeds, Addresses(feeds)), methods=["GET", "HEAD"])]


def _endpoint(feeds: Feeds, addresses: Addresses) -> Endpoint:
    def feed(request: Request) -> Response:
        """Answered in a thread of its own, since it may plan."""
        try:
            if addresses.person(request.path_params["secret"]) is None:
                return _not_found()
            found = feeds.rendered(_selection(request.query_params.multi_items()))
        except Fault as fault:
            return PlainTextResponse(f"{fault.message}\n    write {fault.write}\n", 400, HEADERS)
        except Refused:
            return PlainTextResponse("the plan can not be made; the keeper is told by: afterpull agenda\n", 503, {**HEADERS, "Retry-After": "900"})
        tag = f'W/"{found.etag}"'  # weak: the compressed answer has other octets (RFC 9110 section 8.8.1)
        headers = {**HEADERS, "ETag": tag, "Vary": "Accept-Encoding"}
        if _matches(request.headers, tag):
            return Response(status_code=304, headers=headers)
        return Response(found.content, media_type="text/calendar; charset=utf-8", headers=headers)

    return feed


def _not_found() -> Response:
    return PlainTextResponse("not found\n", 404, HEADERS)


def _selection(asked: list[tuple[str, str]]) -> Selection:
    switched = {name for name, value in asked if value not in ("", "0", "no", "false")}
    unknown = [name for name, _ in asked if name not in (*_SWITCHES, *_FILTERS)]
    if unknown:
        known = "todos=1, holds=1, hands-on=1, yard=kestrel-bank, stream=cut+comb, place=apiary or person=keeper"
        raise Fault(f'"{unknown[0][:40]}" is no filter of a feed', known)
    return select(
        todos="todos" in switched,
        holds="holds" in switched,
        hands_only="hands-on" in switched,
        **{option: [value for name, value in asked if name == filter_] for filter_, option in _FILTERS.items()},
    )


def _matches(headers: Mapping[str, str], tag: str) -> bool:
    """Whether If-None-Match names this content, compared weakly (RFC 9110 section 13.1.2)."""
    asked = headers.get("if-none-match", "")
    return asked.strip() == "*" or tag.removeprefix("W/") in {one.strip().removeprefix("W/") for one in asked.split(",")}
