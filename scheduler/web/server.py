"""Serving on a port: loopback, or the local network where the keeper asks for it."""

from __future__ import annotations

import asyncio
import socket
import ssl
from contextlib import suppress
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette

from scheduler.diagnostics import Fault
from scheduler.web.bounded_http import MOST, BoundedHttp

LOOPBACK = "127.0.0.1"


def listening(lan: bool, port: int) -> socket.socket:
    """A socket that listens on loopback, or on every interface. Raises `Fault` where the port is taken or may not be used."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("0.0.0.0" if lan else LOOPBACK, port))
        listener.listen(128)  # a client that follows the printed link at once waits rather than fails
    except (OSError, OverflowError) as error:
        listener.close()
        why = (error.strerror or str(error)).lower() if isinstance(error, OSError) else "no such port"
        raise Fault(f"port {port} cannot be served on: {why}", "--port with another number, such as 8711") from None
    return listener


def own_address(lan: bool) -> str:
    """The address a phone on the local network reaches this machine by; loopback where there is none or it is not asked for."""
    if not lan:
        return LOOPBACK
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737 documentation address; a datagram socket sends nothing on connect
        except OSError:
            return LOOPBACK
        return str(probe.getsockname()[0])


def check_certificate(certificate: Path, key: Path | None) -> None:
    """Raises `Fault` where a certificate and its key cannot be served with."""
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key, password=lambda: "")
    except (OSError, ValueError) as error:  # ssl.SSLError is an OSError
        why = (getattr(error, "strerror", None) or str(error)).lower()
        raise Fault(f"{certificate} cannot be served with: {why}", "--certificate with a PEM file, --key with its key, without a password") from None


class SleepingServer(uvicorn.Server):
    """A server that sleeps until somebody asks, or until it is to stop: uvicorn's own wakes ten times a second to look whether it is."""

    _loop: asyncio.AbstractEventLoop | None = None
    _stops = False

    def __init__(self, config: uvicorn.Config) -> None:
        self._stopping = asyncio.Event()
        super().__init__(config)

    @property
    def should_exit(self) -> bool:
        """Whether it is to stop; set by a signal, or from another thread."""
        return self._stops

    @should_exit.setter
    def should_exit(self, stops: bool) -> None:
        self._stops = stops
        if stops and self._loop is not None:
            self._loop.call_soon_threadsafe(self._stopping.set)

    async def main_loop(self) -> None:
        """Until it is to stop. The hour that answers carry is that of `BoundedHttp`."""
        self._loop = asyncio.get_running_loop()
        if not self.should_exit:
            await self._stopping.wait()
        self._loop = None

    async def sleeps(self, seconds: float) -> None:
        """Wait so long, or until it is to stop [s]."""
        with suppress(asyncio.TimeoutError):
            await asyncio.wait_for(self._stopping.wait(), seconds)


def server_of(app: Starlette, certificate: Path | None = None, key: Path | None = None) -> uvicorn.Server:
    """The server of an application, to be run with sockets; encrypted with a certificate. Requests are not logged: their addresses are secrets."""
    # backlog: the loop accepts as many at a time, before the first of them is counted
    plain: dict[str, Any] = {"access_log": False, "log_level": "error", "server_header": False, "lifespan": "off", "ws": "none"}
    if certificate is not None:
        plain |= {"ssl_certfile": certificate, "ssl_keyfile": key}
    server = SleepingServer(uvicorn.Config(app, http=BoundedHttp, backlog=MOST, timeout_graceful_shutdown=5, **plain))
    app.state.server = server  # a stream ends when it stops
    return server
