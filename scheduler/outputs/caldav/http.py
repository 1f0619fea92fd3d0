"""Requests to one CalDAV server: bounded, never redirected to another host, every failure in words, no password in any of them.

Of httpx, what is its own idea is off: proxies and passwords from the environment, cookies, its own list of certificates (the system's counts),
compressed answers, whose size is not known before they are unpacked. The `caldav` library costs four times the start and 59 MB, replaces `urllib3`
for the whole environment, and leaves no way to the bounds; it is the second, independent client in the tests instead.
"""

from __future__ import annotations

import ssl
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC
from email.utils import parsedate_to_datetime
from types import TracebackType
from typing import NamedTuple, Self

import httpx

from scheduler.diagnostics import Fault

MOST = 50 * 1024 * 1024  # the largest answer that is read [octets]
TIMEOUT = 30.0  # without an octet [s]
_PORTS = {"http": 80, "https": 443}
_LOOPBACK = ("localhost", "127.0.0.1", "::1")
_UNREADABLE = (httpx.InvalidURL, ValueError)  # what httpx raises for an address that is none
_LATER = "it again in a while; what was done so far holds"


class Stopped(Fault):
    """The server can not go on now; what was done so far holds, and a later sync goes on from there. `status` is the HTTP status, 0 where none came."""

    def __init__(self, message: str, write: str, status: int = 0) -> None:
        super().__init__(message, write)
        self.status = status


class Answer(NamedTuple):
    """What a server answers: the HTTP status, the headers by name in any case, the content."""

    status: int
    headers: Mapping[str, str]
    content: bytes


@dataclass
class Server:
    """One server, and who asks. `url` is http or https; the password is never shown. Raises `Fault` for an address that would give it away."""

    url: str
    user: str = ""
    password: str = field(default="", repr=False)
    plain: bool = False  # a password may go unencrypted over the network
    _address: httpx.URL = field(init=False, repr=False)
    _client: httpx.Client = field(init=False, repr=False)
    _answered: bool = field(default=False, init=False, repr=False)

    def __post_init__(self) -> None:
        try:
            self._address = httpx.URL(self.url)
        except _UNREADABLE:
            self._address = httpx.URL("")
        if self._address.scheme not in _PORTS or not self._address.host:
            raise Fault("the address of a CalDAV server begins with https://", "--url https://calendar.example.org/dav/")
        if self._address.userinfo:
            raise Fault("the address holds a name or a password", "--user NAME, and the password in the keyring or in AFTERPULL_CALDAV_PASSWORD")
        if self._address.scheme == "http" and self._address.host not in _LOOPBACK and not self.plain:
            raise Fault("over http:// the password would cross the network in clear", "https://, or --plain where the network is your own")
        self._client = httpx.Client(
            auth=(self.user, self.password) if self.user else None,
            headers={"User-Agent": "afterpull", "Accept-Encoding": "identity"},
            verify=ssl.create_default_context(),
            timeout=TIMEOUT,
            trust_env=False,
        )

    def ask(self, method: str, where: str, content: bytes = b"", /, **headers: str) -> Answer:
        """One request to a path of this server, redirects on it followed. Raises `Stopped` where there is no going on; 404 and 412 are answers."""
        url = _joined(self._address, where)
        sent = {name.replace("_", "-").encode(): value.encode() for name, value in headers.items()}
        for _ in range(5):
            answer = self._once(method, self._address.copy_with(raw_path=url.raw_path), content, sent)
            if answer.status not in (301, 302, 303, 307, 308):
                _refuse(answer, method)
                return answer
            url = _joined(url, answer.headers.get("location", ""))
            if (url.scheme, url.host, url.port) != (self._address.scheme, self._address.host, self._address.port):
                raise Stopped(
                    f"the server redirects to another host, {url.scheme}://{url.host}; nothing was sent there", "that address after --url, if it is yours"
                )
        raise Stopped("the server redirects in a circle", "--url with the address of the calendar itself")

    @property
    def host(self) -> str:
        """The host and port, as part of a name for what is on it."""
        return f"{self._address.host}:{self._address.port or _PORTS[self._address.scheme]}"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._client.close()

    def _once(self, method: str, url: httpx.URL, content: bytes, headers: Mapping[bytes, bytes]) -> Answer:
        kept, self._answered = self._answered, False
        read = bytearray()
        self._client.cookies.clear()
        try:
            with self._client.stream(method, url, content=content or None, headers=headers) as response:
                for octets in response.iter_raw():
                    read += octets
                    if len(read) > MOST:
                        break
        except (httpx.HTTPError, *_UNREADABLE) as error:  # httpx reads a Location even where it does not follow it
            if kept and isinstance(error, (httpx.NetworkError, httpx.RemoteProtocolError)):
                return self._once(method, url, content, headers)  # a kept connection that the server had closed meanwhile
            raise Stopped(_unreachable(error, self._address.host), _LATER) from None
        if len(read) > MOST:
            raise Stopped(f"the server answers with more than {MOST // 1024**2} MB; the rest was not read", "a calendar of its own after --name")
        self._answered = True
        return Answer(response.status_code, response.headers, bytes(read))


def _joined(url: httpx.URL, where: str) -> httpx.URL:
    try:
        return url.join(where)
    except _UNREADABLE:
        raise Stopped(f"the server names an address that can not be read, {where[:60]!r}", "--url with the address of the calendar itself") from None


def _unreachable(error: Exception, host: str) -> str:
    """What a failed request means to a person; never with a secret in it, so what a protocol error quotes is left out."""
    cause: BaseException = error
    while not isinstance(cause, OSError) and cause.__context__ is not None:  # httpcore cuts the chain of causes, not that of contexts
        cause = cause.__context__
    if isinstance(cause, ssl.SSLCertVerificationError):
        return f"the certificate of {host} is not trusted: {cause.verify_message}"
    if isinstance(cause, ssl.SSLError):
        return f"{host} does not speak TLS as it should: {cause.reason or 'handshake failed'}"
    if isinstance(error, httpx.TimeoutException):
        return f"{host} does not answer"
    if isinstance(error, (httpx.ProtocolError, *_UNREADABLE)):
        return f"{host} does not answer as an HTTP server does ({type(error).__name__})"
    return f"{host} can not be reached: {(getattr(cause, 'strerror', None) or str(cause)).lower()}"


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
        raise Stopped(f"the server failed ({status})", _LATER, status)


def _after(told: str) -> str:
    """Retry-After is seconds or a date (RFC 9110 section 10.2.3)."""
    if told.strip().isdecimal():
        return f"after {int(told.strip()[:9])} s"
    try:
        return f"after {parsedate_to_datetime(told).astimezone(UTC):%Y-%m-%d %H:%M} UTC"
    except (ValueError, TypeError, OverflowError):
        return "in a while"
