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
from scheduler.web.server import listening


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
