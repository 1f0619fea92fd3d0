"""Who may use the page: this machine alone, by an address of its own, from a form that the page itself made."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping

from starlette.requests import Request

LOOPBACK = ("127.0.0.1", "::1")
HOSTS = ("localhost", "127.0.0.1", "[::1]")  # any other name that leads here is a stranger's (DNS rebinding)
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


class Guard:
    """What lets a request in, for one run of the server."""

    def __init__(self) -> None:
        self.token = secrets.token_urlsafe(24)

    def admits(self, request: Request) -> bool:
        """Whether a request comes from this machine, and to it by one of its own names."""
        here = request.client is None or request.client.host in LOOPBACK
        return here and _name(request.headers.get("host", "")) in HOSTS

    def is_own(self, request: Request) -> bool:
        """Whether a form comes from a page of the same origin: perhaps one that was made before the server was started again."""
        site, origin = request.headers.get("sec-fetch-site"), request.headers.get("origin")
        return site in (None, "same-origin") and origin == f"http://{request.headers.get('host', '')}"

    def trusts(self, request: Request, form: Mapping[str, str]) -> bool:
        """Whether a form is the page's own: from the same origin, with the token that only the page knows."""
        return self.is_own(request) and hmac.compare_digest(form.get("token", "").encode(), self.token.encode())


def _name(host: str) -> str:
    """A Host header without its port."""
    return host.rpartition(":")[0] if ":" in host and not host.endswith("]") else host
