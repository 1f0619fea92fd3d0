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

LARGEST_RESPONSE = 50 * 1024 * 1024  # octets
TIMEOUT = 30.0  # without an octet [s]
_PORTS = {"http": 80, "https": 443}
_LOOPBACK = ("localhost", "127.0.0.1", "::1")
_UNREADABLE = (httpx.InvalidURL, ValueError)  # what httpx raises for an address that is none
_LATER = "it again in a while; what was done so far holds"


class SyncStopped(Fault):
    """The server cannot go on now; what was done so far holds, and a later sync goes on from there. `status` is the HTTP status, 0 where none came."""

    def __init__(self, message: str, write: str, status: int = 0) -> None:
        super().__init__(message, write)
        self.status = status


class Response(NamedTuple):
    """An HTTP response: the status, the headers by name in any case, the content."""

    status: int
    headers: Mapping[str, str]
    content: bytes


@dataclass
class Server:
    """One server and one user. `url` is http or https; the password is never shown. Raises `Fault` for an address that would give it away."""

    url: str
    user: str = ""
    password: str = field(default="", repr=False)
    allow_http: bool = False  # a password may go unencrypted over the network
    _address: httpx.URL = field(init=False, repr=False)
    _client: httpx.Client = field(init=False, repr=False)
    _connected: bool = field(default=False, init=False, repr=False)  # the last request was answered, so its connection may be kept

    def __post_init__(self) -> None:
        try:
            self._address = httpx.URL(self.url)
        except _UNREADABLE:
            self._address = httpx.URL("")
        if self._address.scheme not in _PORTS or not self._address.host:
            raise Fault("the address of a CalDAV server begins with https://", "--url https://calendar.example.org/dav/")
        if self._address.userinfo:
            raise Fault("the address holds a name or a password", "--user NAME, and the password in the keyring or in AFTERPULL_CALDAV_PASSWORD")
        if self._address.scheme == "http" and self._address.host not in _LOOPBACK and not self.allow_http:
            raise Fault("over http:// the password would cross the network in clear", "https://, or --plain where the network is your own")
        self._client = httpx.Client(
            auth=(self.user, self.password) if self.user else None,
            headers={"User-Agent": "afterpull", "Accept-Encoding": "identity"},
            verify=ssl.create_default_context(),
            timeout=TIMEOUT,
            trust_env=False,
        )

    def request(self, method: str, where: str, content: bytes = b"", /, **headers: str) -> Response:
        """One request to a path of this server, redirects on it followed. Raises `SyncStopped` for what ends a sync; 404 and 412 are returned."""
        url = _join(self._address, where)
        encoded = {name.replace("_", "-").encode(): value.encode() for name, value in headers.items()}
        for _ in range(5):
            response = self._once(method, self._address.copy_with(raw_path=url.raw_path), content, encoded)
            if response.status not in (301, 302, 303, 307, 308):
                _raise_for_status(response, method)
                return response
            url = _join(url, response.headers.get("location", ""))
            if (url.scheme, url.host, url.port) != (self._address.scheme, self._address.host, self._address.port):
                raise SyncStopped(
                    f"the server redirects to another host, {url.scheme}://{url.host}; nothing was sent there", "that address after --url, if it is yours"
                )
        raise SyncStopped("the server redirects in a circle", "--url with the address of the calendar itself")

    @property
    def host(self) -> str:
        """The host and port, as part of a name for what is on it."""
        return f"{self._address.host}:{self._address.port or _PORTS[self._address.scheme]}"

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._client.close()

    def _once(self, method: str, url: httpx.URL, content: bytes, headers: Mapping[bytes, bytes]) -> Response:
        connected, self._connected = self._connected, False
        received = bytearray()
        self._client.cookies.clear()
        try:
            with self._client.stream(method, url, content=content or None, headers=headers) as response:
                for octets in response.iter_raw():
                    received += octets
                    if len(received) > LARGEST_RESPONSE:
                        break
        except (httpx.HTTPError, *_UNREADABLE) as error:  # InvalidURL: httpx parses a Location even where it does not follow it
            if connected and isinstance(error, (httpx.NetworkError, httpx.RemoteProtocolError)):
                return self._once(method, url, content, headers)  # a kept connection that the server had closed meanwhile
            raise SyncStopped(_in_words(error, self._address.host), _LATER) from None
        if len(received) > LARGEST_RESPONSE:
            raise SyncStopped(
                f"the server answers with more than {LARGEST_RESPONSE // 1024**2} MB; the rest was not read", "a calendar of its own after --name"
            )
        self._connected = True
        return Response(response.status_code, response.headers, bytes(received))


def _join(url: httpx.URL, where: str) -> httpx.URL:
    try:
        return url.join(where)
    except _UNREADABLE:
        raise SyncStopped(f"the server names an address that cannot be read, {where[:60]!r}", "--url with the address of the calendar itself") from None


def _in_words(error: Exception, host: str) -> str:
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
    return f"{host} cannot be reached: {(getattr(cause, 'strerror', None) or str(cause)).lower()}"


def _raise_for_status(response: Response, method: str) -> None:
    """The statuses that stop a sync, in words."""
    status = response.status
    if status == 401:
        basic = "basic" in response.headers.get("www-authenticate", "basic").lower()
        how = (
            "--user and the password again (an app password, where the account has two-factor sign-in)"
            if basic
            else "a server that takes a password (HTTP Basic)"
        )
        raise SyncStopped("the server does not accept the name and password (401)", how, status)
    if status == 403:
        raise SyncStopped(f"the server forbids {method} here (403)", "--url of a calendar that you may write to", status)
    if status in (429, 503):
        raise SyncStopped(
            f"the server is busy ({status})", f"it again {_retry_after(response.headers.get('retry-after', ''))}; what was done so far holds", status
        )
    if status == 507:
        raise SyncStopped("the server has no room left (507)", "it again once there is room", status)
    if status >= 500:
        raise SyncStopped(f"the server failed ({status})", _LATER, status)


def _retry_after(value: str) -> str:
    """Retry-After is seconds or a date (RFC 9110 section 10.2.3)."""
    if value.strip().isdecimal():
        return f"after {int(value.strip()[:9])} s"
    try:
        return f"after {parsedate_to_datetime(value).astimezone(UTC):%Y-%m-%d %H:%M} UTC"
    except (ValueError, TypeError, OverflowError):
        return "in a while"
