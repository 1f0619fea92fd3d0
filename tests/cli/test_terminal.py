"""The standard streams as a person has them: folded between words, in letters that the output has, and gone at any moment."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.cli.terminal import PLAIN, WIDEST, columns, folded, text_width

WORDS = st.lists(st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=15), min_size=1, max_size=20)


@given(WORDS, st.integers(0, 8), st.integers(30, 100))
def test_a_line_is_folded_between_words_and_none_is_lost(words: list[str], start: int, width: int) -> None:
    """Further lines are indented two more; every line fits, since every word does."""
    line = " " * start + " ".join(words)
    lines = folded(line, width).split("\n")
    assert " ".join(lines).split() == words
    assert all(len(one) <= width for one in lines)
    assert all(one.startswith(" " * (start + 2)) for one in lines[1:])
    assert folded(line, len(line)) == line


def test_columns_stay_apart_and_colour_is_left_alone() -> None:
    """Two spaces between columns are kept where the line is not broken there; one with colour was folded by who painted it."""
    assert folded("drain  12 h  of cut comb", 16) == "drain  12 h  of\n  cut comb"
    painted = "\x1b[1m" + "word " * 30
    assert folded(painted, 20) == painted
    assert folded("ridge-2/a/freeze-comb.1 x", 10) == "ridge-2/a/freeze-comb.1\n  x"


@pytest.mark.parametrize(
    ("text", "encoding", "spelt"),
    [
        ("-18 °C, 1 m², ½", "ascii", b"-18 C, 1 m2, 1/2"),
        ("Čebelnjak “Žiga” – 5 × 3", "ascii", b'Cebelnjak "Ziga" - 5 x 3'),
        ("日本 °C", "latin-1", b"?? \xb0C"),
        ("ř→", "latin-1", b"r->"),
    ],
)
def test_a_letter_that_the_output_lacks_is_spelt(text: str, encoding: str, spelt: bytes) -> None:
    """Without its accent, or in signs of ASCII; no output ends in a traceback."""
    assert text.encode(encoding, PLAIN) == spelt


@pytest.mark.parametrize(("told", "wide"), [("120", 120), ("0", None), ("-5", None), ("wide", None), ("", None)])
def test_columns_says_how_wide_unless_it_is_nonsense(told: str, wide: int | None, monkeypatch: pytest.MonkeyPatch) -> None:
    """A stream that goes nowhere has no width; running text is never wider than is read with ease."""
    monkeypatch.setenv("COLUMNS", told)
    assert columns(None) == wide
    if wide:
        assert text_width() == WIDEST


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="a pipe whose reader left, as POSIX tells it")
def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    """`| head` closes the pipe: exit status 0, and not a word on the other stream."""
    script = (
        "from scheduler.cli.terminal import Streams\nstreams = Streams()\nfor _ in range(100000):\n    print('x' * 80)\nraise SystemExit(streams.status(0))"
    )
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.readline()
        running.stdout.close()
        assert running.stderr.read() == b""
        assert running.wait(60) == 0


@pytest.mark.slow
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is always full")
def test_a_full_disk_is_told_and_is_status_2() -> None:
    """What the command had to say found no room."""
    script = "from scheduler.cli.terminal import Streams\nstreams = Streams()\nprint('x')\nraise SystemExit(streams.status(0))"
    with open("/dev/full", "wb") as full:
        ran = subprocess.run([sys.executable, "-c", script], stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert ran.returncode == 2
    assert "standard output cannot be written: no space left on device" in ran.stderr
