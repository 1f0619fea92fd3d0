"""Requests to one CalDAV server: bounded, never redirected to another host, every failure in words, no password in any of them.

Written on `http.client` rather than with the `caldav` library, which a measurement speaks against: its first use took 0.16 to 0.20 s and 608 modules
against 0.03 s and 111; its closure is 59 MB; and it replaces `urllib3` for the whole environment and doubles the start of every Python in it (10 to
21 ms), which breaks the isolation that `channels` need. What is needed on top of it (a cap on answers, no redirect to another host, Retry-After,
XML without entities) would reach into its session. It is the second, independent client in the tests instead.
"""

from __future__ import annotations

import base64
import http.client
import ssl
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC
from email.utils import parsedate_to_datetime
from types import TracebackType
from typing import Self
from urllib.parse import quote, urljoin, urlsplit

from scheduler.diagnostics import Fault


def unreachable(error: Exception, host: str) -> str:
    """What a fault of the connection to a host means to a person; never with a secret in it."""
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"the certificate of {host} is not trusted: {error.verify_message}"
    if isinstance(error, ssl.SSLError):
        return f"{host} does not speak TLS as it should: {error.reason or 'handshake failed'}"
    if isinstance(error, TimeoutError):
        return f"{host} does not answer"
    if isinstance(error, http.client.HTTPException):
        return f"{host} does not answer as an HTTP server does ({type(error).__name__})"
    return f"{host} can not be reached: {(getattr(error, 'strerror', None) or str(error)).lower()}"


MOST = 50 * 1024 * 1024  # the largest answer that is read [octets]
TIMEOUT = 30.0  # without an octet [s]
_REDIRECTS = (301, 302, 303, 307, 308)
_LOOPBACK = ("localhost", "127.0.0.1", "::1")


class Stopped(Fault):
    """The server can not go on now; what was done so far holds, and a later sync goes on from there. `status` is the HTTP status, 0 where none came."""

    def __init__(self, message: str, write: str, status: int = 0) -> None:
        super().__init__(message, write)
        self.status = status


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer: status, headers in lower case, content, and the address it came from."""

    status: int
    headers: Mapping[str, str]
    content: bytes
    url: str


@dataclass
class Server:
    """One server, and who asks. `url` is http or https; the password is never shown."""

    url: str
    user: str = ""
    password: str = field(default="", repr=False)
    plain: bool = False  # a password may go unencrypted over the network
    _host: tuple[str, str, int] = field(init=False, repr=False)
    _open: http.client.HTTPConnection | None = field(default=None, init=False, repr=False)

    def __post_init__(self) -> None:
        parts = urlsplit(self.url)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise Fault("the address of a CalDAV server begins with https://", "--url https://calendar.example.org/dav/")
        if parts.username or parts.password:
            raise Fault("the address holds a name or a password", "--user NAME, and the password in the keyring or in AFTERPULL_CALDAV_PASSWORD")
        if parts.scheme == "http" and parts.hostname not in _LOOPBACK and not self.plain:
            raise Fault("over http:// the password would cross the network in clear", "https://, or --plain where the network is your own")
        self._host = (parts.scheme, parts.hostname, parts.port or (443 if parts.scheme == "https" else 80))

    def ask(self, method: str, url: str, content: bytes = b"", /, **headers: str) -> Answer:
        """One request, redirects on the same host followed. Raises `Stopped` for what can not be gone on with, 404 and 412 are answers."""
        for _ in range(5):
            answer = self._once(method, url, content, {name.replace("_", "-"): value for name, value in headers.items()})
            if answer.status not in _REDIRECTS:
                _refuse(answer, method)
                return answer
            url = urljoin(url, answer.headers.get("location", ""))
            self._same_host(url)
        raise Stopped("the server redirects in a circle", "--url with the address of the calendar itself")

    @property
    def host(self) -> str:
        """The host and port, as part of a name for what is on it."""
        return f"{self._host[1]}:{self._host[2]}"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the connection."""
        if self._open is not None:
            self._open.close()
            self._open = None

    def _same_host(self, url: str) -> None:
        parts = urlsplit(url)
        if (parts.scheme, parts.hostname, parts.port or (443 if parts.scheme == "https" else 80)) != self._host:
            raise Stopped(
                f"the server redirects to another host, {parts.scheme}://{parts.hostname}; nothing was sent there", "that address after --url, if it is yours"
            )

    def _once(self, method: str, url: str, content: bytes, headers: Mapping[str, str]) -> Answer:
        parts = urlsplit(url)
        target = quote(parts.path or "/", safe="/%:@!$&'()*+,;=~") + (f"?{parts.query}" if parts.query else "")
        fresh = self._open is None
        try:
            return self._exchange(method, target, content, headers, url)
        except (http.client.RemoteDisconnected, ConnectionResetError, BrokenPipeError) as error:
            self.close()
            if fresh:
                raise Stopped(unreachable(error, self._host[1]), "it again in a while; what was done so far holds") from None
            return self._once(method, url, content, headers)  # a kept connection that the server had closed meanwhile
        except (OSError, http.client.HTTPException) as error:
            self.close()
            raise Stopped(unreachable(error, self._host[1]), "it again in a while; what was done so far holds") from None

    def _exchange(self, method: str, target: str, content: bytes, headers: Mapping[str, str], url: str) -> Answer:
        if self._open is None:
            scheme, host, port = self._host
            self._open = (
                http.client.HTTPSConnection(host, port, timeout=TIMEOUT, context=ssl.create_default_context())
                if scheme == "https"
                else http.client.HTTPConnection(host, port, timeout=TIMEOUT)
            )
        sent = {"User-Agent": "afterpull", "Accept-Encoding": "identity", **headers}
        if self.user:
            sent["Authorization"] = "Basic " + base64.b64encode(f"{self.user}:{self.password}".encode()).decode()
        self._open.request(method, target, body=content or None, headers=sent)
        response = self._open.getresponse()
        read = response.read(MOST + 1)
        if len(read) > MOST:
            self.close()
            raise Stopped(f"the server answers with more than {MOST // 1024**2} MB; the rest was not read", "a calendar of its own after --name")
        if response.will_close:
            self.close()
        return Answer(response.status, {name.lower(): value for name, value in response.getheaders()}, read, url)


def _refuse(answer: Answer, method: str) -> None:
    """The statuses that stop a sync, in words."""
    status = answer.status
    if status == 401:
        basic = "basic" in answer.headers.get("www-authenticate", "basic").lower()
        how = (
            "--user and the password again (an app password, where the account has two-factor sign-in)"
            if basic
            else "a server that takes a password (HTTP Basic)"
        )
        raise Stopped("the server does not accept the name and password (401)", how, status)
    if status == 403:
        raise Stopped(f"the server forbids {method} here (403)", "--url of a calendar that you may write to", status)
    if status in (429, 503):
        raise Stopped(f"the server is busy ({status})", f"it again {_after(answer.headers.get('retry-after', ''))}; what was done so far holds", status)
    if status == 507:
        raise Stopped("the server has no room left (507)", "it again once there is room", status)
    if status >= 500:
        raise Stopped(f"the server failed ({status})", "it again in a while; what was done so far holds", status)


def _after(told: str) -> str:
    """Retry-After is seconds or a date (RFC 9110 section 10.2.3)."""
    if told.strip().isdecimal():
        return f"after {int(told.strip()[:9])} s"
    try:
        return f"after {parsedate_to_datetime(told).astimezone(UTC):%Y-%m-%d %H:%M} UTC"
    except (ValueError, TypeError, OverflowError):
        return "in a while"
