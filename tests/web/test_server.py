"""Where feeds are served: on this machine alone unless more is asked for, and only on a port that is free."""

from __future__ import annotations

import socket

import pytest

from scheduler.diagnostics import Fault
from scheduler.web.server import LOOPBACK, listening, own_address


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
