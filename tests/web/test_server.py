"""Where feeds are served: on this machine alone unless more is asked for, and only on a port that is free."""

from __future__ import annotations

import asyncio
import http.client
import socket
import threading
import time
from email.utils import parsedate_to_datetime

import pytest

from scheduler.application import clock
from scheduler.application.publish import Feeds
from scheduler.diagnostics import Fault
from scheduler.ledger.store import Ledger
from scheduler.web.feeds import application
from scheduler.web.server import LOOPBACK, listening, own_address, server_of
from tests.conftest import PULLED


def test_it_listens_on_this_machine_alone() -> None:
    """Nobody else is let in without being asked for."""
    with listening(False, 0) as listener:
        assert listener.getsockname()[0] == LOOPBACK
        with socket.create_connection(listener.getsockname(), timeout=5):
            pass
    assert own_address(False) == LOOPBACK


@pytest.mark.parametrize("port", [65_536, -1])
def test_what_is_no_port_is_refused(port: int) -> None:
    """With another to take."""
    with pytest.raises(Fault, match=f"port {port} cannot be served on: no such port") as refused:
        listening(False, port)
    assert "--port" in refused.value.write


def test_a_port_that_another_program_serves_is_refused() -> None:
    """By what the system says of it."""
    with listening(False, 0) as listener, pytest.raises(Fault, match="cannot be served on: address already in use"):
        listening(False, listener.getsockname()[1])


def test_while_nobody_asks_nothing_wakes_the_server(ledger: Ledger) -> None:
    """No timer is set: a phone's page that is open and hidden costs the machine nothing. An answer carries the hour all the same, and it stops when told."""
    with listening(False, 0) as listener:
        server = server_of(application(Feeds(ledger, lambda: PULLED)))
        loops = list[asyncio.AbstractEventLoop]()
        started = server.startup

        async def startup(*given: list[socket.socket] | None, **more: list[socket.socket] | None) -> None:
            loops.append(asyncio.get_running_loop())
            await started(*given, **more)

        server.startup = startup  # type: ignore[method-assign, assignment]
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        connection = http.client.HTTPConnection(*listener.getsockname(), timeout=60)
        connection.request("GET", "/")
        date = connection.getresponse().getheader("date", "")
        connection.close()
        while server.server_state.connections:
            time.sleep(0.01)
        timers = [timer for timer in loops[0]._scheduled if not timer.cancelled()]  # type: ignore[attr-defined]
        server.should_exit = True
        thread.join(20)
    assert timers == []
    assert not thread.is_alive()
    assert abs(parsedate_to_datetime(date) - clock.now()).total_seconds() < 3600
