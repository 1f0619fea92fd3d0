"""One file from the web: over TLS, from the host that was named and no other, bounded in size and time, every failure in words."""

from __future__ import annotations

import http.client
import time
import urllib.error
import urllib.request
from typing import IO, Any
from urllib.parse import urlsplit

from scheduler.diagnostics import Fault
from scheduler.outputs.caldav.http import unreachable

MOST = 5 * 1024 * 1024  # octets; two years of one station are 30 thousand
SILENT = 20.0  # s without an octet
LONGEST = 60.0  # s in all
_LOOPBACK = ("localhost", "127.0.0.1", "::1")
_LATER = "it again in a while; nothing was written, and no plan waits for it"


class _SameHost(urllib.request.HTTPRedirectHandler):
    """Follows a redirect only to where the request was meant to go."""

    def redirect_request(self, req: urllib.request.Request, fp: IO[bytes], code: int, msg: str, headers: Any, newurl: str) -> urllib.request.Request | None:
        asked, told = urlsplit(req.full_url), urlsplit(newurl)
        if (asked.scheme, asked.netloc) != (told.scheme, told.netloc):
            fp.close()
            raise Fault(
                f"{asked.hostname} redirects to another host, {told.scheme}://{told.hostname}; nothing was asked there", "that address, if you trust it"
            )
        return super().redirect_request(req, fp, code, msg, headers, newurl)


def fetched(address: str, most: int = MOST, longest: float = LONGEST) -> bytes:
    """The octets at an address. Raises `Fault` for one that is not https, and where they can not be had."""
    try:
        parts = urlsplit(address)
        host, _ = parts.hostname, parts.port
    except ValueError:
        raise Fault("the address of the service can not be read", "https://weather.example.org/data") from None
    if not host or not (parts.scheme == "https" or (parts.scheme == "http" and host in _LOOPBACK)) or "@" in parts.netloc:
        raise Fault("the address of the service does not begin with https:// and a host", "https://weather.example.org/data")
    request = urllib.request.Request(address, headers={"User-Agent": "afterpull", "Accept": "text/csv", "Accept-Encoding": "identity"})
    try:
        with urllib.request.build_opener(_SameHost()).open(request, timeout=SILENT) as answer:
            return _bounded(answer, host, most, time.monotonic() + longest)
    except urllib.error.HTTPError as error:
        error.close()
        raise Fault(*_refusal(error.code, host)) from None
    except (OSError, http.client.HTTPException) as error:
        reason = getattr(error, "reason", None)
        raise Fault(unreachable(reason if isinstance(reason, Exception) else error, host), _LATER) from None


def _bounded(answer: http.client.HTTPResponse, host: str, most: int, until: float) -> bytes:
    read = b""
    while part := answer.read1(65536):
        read += part
        if len(read) > most:
            raise Fault(f"{host} answers with more than {most / 1024**2:g} MB; the rest was not read", "another address, or the table by hand with --file")
        if time.monotonic() > until:
            raise Fault(f"{host} answers too slowly", _LATER)
    if answer.length:
        raise Fault(f"{host} broke off in the middle of its answer", _LATER)
    return read


def _refusal(status: int, host: str) -> tuple[str, str]:
    if status in (400, 404, 422):
        return f"{host} does not take the request ({status})", "--of with another station; or the table by hand, with --file"
    if status in (401, 403):
        return f"{host} does not let us ask ({status})", "a service that needs no key; or the table by hand, with --file"
    if status < 400:
        return f"{host} redirects in a circle ({status})", "another address, or the table by hand with --file"
    return f"{host} is busy or failed ({status})", _LATER
