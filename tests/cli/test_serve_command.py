"""`afterpull serve`: addresses are made, listed and revoked; what can not be served is told."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.cli import main
from scheduler.web.server import listening, own_address


def told(where: str, *words: str) -> tuple[int, str]:
    """Exit status and what was said."""
    result = CliRunner().invoke(main, ["serve", "--ledger", where, *words])
    return result.exit_code, result.output


def test_an_address_is_shown_once_listed_by_name_and_revoked(where: str) -> None:
    """The list names persons, never addresses."""
    made = told(where, "--new", "kitchen", "--port", "8712")
    secret = re.search(r"webcal://127\.0\.0\.1:8712/feed/([\w-]{43})\.ics", made[1])
    assert (made[0], secret is not None) == (0, True)
    assert told(where, "--list") == (0, "kitchen\n")
    assert told(where, "--revoke", "kitchen") == (0, "The address of kitchen is revoked.\n")
    assert told(where, "--list") == (0, "Nobody has an address: afterpull serve --new NAME\n")


def test_a_port_that_is_taken_is_told(where: str) -> None:
    """With what to write, exit 2."""
    told(where, "--new", "kitchen")
    with listening(False, 0) as taken:
        code, said = told(where, "--port", str(taken.getsockname()[1]))
    assert code == 2
    assert "can not be served on" in said
    assert "--port" in said


def test_the_local_network_is_let_in_only_where_it_is_asked_for(where: str) -> None:
    """Without --lan nobody but this machine can so much as connect; with it the printed address is one that a phone can reach, where there is one."""
    with listening(False, 0) as alone, listening(True, 0) as lan:
        assert (alone.getsockname()[0], lan.getsockname()[0]) == ("127.0.0.1", "0.0.0.0")
    assert f"webcal://{own_address(True)}:8710/" in told(where, "--new", "kitchen", "--lan")[1]


@pytest.mark.skipif(sys.platform == "win32", reason="a terminal of its own needs a pseudo-terminal")
def test_a_terminal_is_shown_the_address_as_a_qr_code_too(where: str) -> None:
    """The same squares as segno draws of the same address (ISO/IEC 18004); a pipe gets the address alone."""
    import io
    import pty

    import segno

    ours, theirs = pty.openpty()
    words = [sys.executable, "-m", "scheduler", "serve", "--ledger", where, "--new", "kitchen"]
    with subprocess.Popen(words, stdout=theirs, env={**os.environ, "PYTHONIOENCODING": "utf-8"}) as process:
        os.close(theirs)
        shown = b""
        try:
            while piece := os.read(ours, 65536):
                shown += piece
        except OSError:  # Linux says so where the other end is closed
            pass
        assert process.wait(timeout=30) == 0
    os.close(ours)
    text = shown.decode().replace("\r\n", "\n")
    address = re.search(r"webcal://\S+", text)
    assert address is not None
    drawn = io.StringIO()
    segno.make(address[0], error="m").terminal(drawn, compact=True)
    assert text.rstrip().endswith(drawn.getvalue().rstrip())
    assert len(told(where, "--new", "kitchen")[1].splitlines()) == 2


@pytest.mark.slow
def test_the_printed_address_answers(where: str, tmp_path: Path) -> None:
    """The whole command: it starts, prints its first address, serves a calendar there, tells alerts beside it, and stops when it is asked to."""
    with listening(False, 0) as free:
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "scheduler", "serve", "--ledger", where, "--port", str(port)]
    errors = (tmp_path / "stderr").open("wb")
    with errors, subprocess.Popen(words, stdout=subprocess.PIPE, stderr=errors, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"}) as process:
        try:
            assert process.stdout is not None
            address = next(line for line in process.stdout if line.startswith("webcal://")).strip().replace("webcal://", "http://")
            with urllib.request.urlopen(address, timeout=30) as answer:
                assert answer.read().startswith(b"BEGIN:VCALENDAR")
            process.send_signal(signal.SIGINT)
            process.wait(timeout=30)
        finally:
            process.kill()
    assert "Traceback" not in (tmp_path / "stderr").read_text()
