"""Who may use the page: this machine, and phones that were paired; by an address of its own, from a form that the page itself made."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Collection, Mapping
from typing import NamedTuple
from urllib.parse import urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from scheduler.application.paired_phones import LASTS, PairedPhones, form_token
from scheduler.diagnostics import Fault, Refused

LOOPBACK = ("127.0.0.1", "::1")
HOSTS = ("localhost", "127.0.0.1", "[::1]")  # any other name that leads here is a stranger's (DNS rebinding), unless the keeper gave it
UNITS = ("metric", "us")
LARGEST = 8_000  # octets of a form; assumed
POLICY = (  # nothing inline
    "default-src 'none'; script-src 'self'; connect-src 'self'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "same-origin",  # with no-referrer our own forms would come without an Origin
    "X-Content-Type-Options": "nosniff",
    "X-Robots-Tag": "noindex",
}


class Visitor(NamedTuple):
    """Who was let in: the token of their forms, whose phone it is ("" for this machine), and the units they chose ("" for the yard's)."""

    token: str
    person: str = ""
    units: str = ""


class Guard:
    """
    What lets a request in, for one run of the server.

    `names` are the further addresses of this machine (`http://192.168.1.20:8710`) at which paired phones are let in. With `paired_only`, for
    a proxy in front of it, everything seems to come from this machine, and nobody is let in unpaired.
    """

    def __init__(self, phones: PairedPhones, names: Collection[str] = (), *, secure: bool = False, paired_only: bool = False) -> None:
        self.token = secrets.token_urlsafe(24)
        self.secure = secure or any(name.startswith("https:") for name in names)
        self.cookie = "__Host-afterpull" if self.secure else "afterpull"  # plain http drops the first (facts/web.md, section 2)
        self.units_cookie = f"{self.cookie}-units"
        self.phones, self._paired_only = phones, paired_only
        self._here = "https" if secure else "http"
        self._origins = frozenset(_origin(name) for name in names)
        self._hosts = frozenset(urlsplit(name).netloc.lower() for name in names)

    def knows(self, request: Request) -> bool:
        """Whether a request names this machine as it is called."""
        return self._local(request) or request.headers.get("host", "").lower() in self._hosts

    def visitor(self, request: Request) -> Visitor | None:
        """Who asks; None where they are not let in. Reads the ledger for a phone."""
        if not self.knows(request):
            return None
        chosen = request.cookies.get(self.units_cookie, "")
        units = chosen if chosen in UNITS else ""
        secret = request.cookies.get(self.cookie, "")
        if secret and (person := self.phones.person(secret)) is not None:
            return Visitor(form_token(secret), person, units)
        return Visitor(self.token, "", units) if self._local(request) and not self._paired_only else None

    async def enters(self, request: Request) -> Visitor | None:
        """Who asks; nobody, while the ledger cannot be read."""
        try:
            return await run_in_threadpool(self.visitor, request)
        except (Fault, Refused):
            return None

    def keep(self, answer: Response, name: str, value: str) -> Response:
        """Give the browser a cookie of this page, which no script reads; encrypted alone, where the page is."""
        answer.set_cookie(name, value, max_age=LASTS, path="/", secure=self.secure, httponly=True, samesite="lax")
        return answer

    def is_own(self, request: Request) -> bool:
        """Whether a form comes from a page of the same origin: perhaps one that was made before the server was started again."""
        site, origin = request.headers.get("sec-fetch-site"), request.headers.get("origin", "")
        own = origin in self._origins or (self._local(request) and origin == f"{self._here}://{request.headers.get('host', '')}")
        return site in (None, "same-origin") and own

    def trusts(self, request: Request, form: Mapping[str, str], visitor: Visitor) -> bool:
        """Whether a form is the page's own: from the same origin, with the token that only the page knows."""
        return self.is_own(request) and hmac.compare_digest(form.get("token", "").encode(), visitor.token.encode())

    def _local(self, request: Request) -> bool:
        here = request.client is None or request.client.host in LOOPBACK
        return here and _name(request.headers.get("host", "")) in HOSTS


def _origin(address: str) -> str:
    """The origin of an address, as a browser sends it: without the port that its scheme has anyway."""
    parts = urlsplit(address.lower())
    usual = {"http": ":80", "https": ":443"}[parts.scheme]
    return f"{parts.scheme}://{parts.netloc.removesuffix(usual)}"


def _name(host: str) -> str:
    """A Host header without its port."""
    return host.rpartition(":")[0] if ":" in host and not host.endswith("]") else host
