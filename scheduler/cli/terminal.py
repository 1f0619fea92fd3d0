"""The standard streams as a person has them: as wide as their terminal, in its encoding, and closed or full at any moment.

Lines are folded between words where the width is known (a terminal, or COLUMNS); a word that is longer stands out. What a program reads (JSON, a
calendar) is written as bytes and passes by all this.
"""

from __future__ import annotations

import codecs
import errno
import io
import os
import sys
from typing import Any, TextIO

import click

READER_LEFT = (errno.EPIPE,)  # nothing is wrong: `| head` has seen enough
FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
WIDEST, NARROWEST = 100, 52  # columns: of running text that is read with ease; of help in two columns
PLAIN = "plain"
_WHOLE = "\u2011"  # a hyphen at which no line ends, so that --as-of stays whole
_SIGNS = {"°": "", "²": "2", "³": "3", "½": "1/2", "µ": "u", "·": " ", "×": "x", "−": "-", "–": "-", "—": "-", "→": "->", "≤": "<=", "≥": ">=", "≈": "~"}
_SIGNS |= {"‘": "'", "’": "'", "“": '"', "”": '"', "…": "..."}


def columns(stream: TextIO | None) -> int | None:
    """How wide a stream is shown: as COLUMNS says, else as its terminal is; None where it goes elsewhere."""
    told = os.environ.get("COLUMNS", "")
    if told.isdecimal() and int(told):
        return int(told)
    try:
        return os.get_terminal_size(stream.fileno()).columns or None if stream else None
    except (OSError, ValueError):
        return None


def text_width(usual: int = 80) -> int:
    """How wide running text on standard output is: as the terminal, up to what is read with ease."""
    known = columns(sys.stdout)
    return usual if known is None else min(known, WIDEST)


def coloured() -> bool:
    """Whether standard output is a terminal that shows colour, and nobody asked for none."""
    return sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"


def folded(line: str, width: int) -> str:
    """A line in lines of at most `width` columns, further ones indented; broken between words only. One with colour was folded by who painted it."""
    if len(line) <= width or "\x1b" in line:
        return line
    start = len(line) - len(line.lstrip(" "))
    indent = " " * min(start + 2, width // 2)
    first, *words = line[start:].split(" ")
    lines = [line[:start] + first]
    for word in words:  # an empty one stands between two spaces, which keep columns apart
        if len(lines[-1]) + 1 + len(word) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(indent + word)
    return "\n".join(line.rstrip() for line in lines)


def _plain(error: UnicodeError) -> tuple[str, int]:
    """What an encoding lacks in letters that it has: without its accent, or in signs of ASCII."""
    import unicodedata

    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    spelt = (_SIGNS[one] if one in _SIGNS else unicodedata.normalize("NFKD", one).encode("ascii", "ignore").decode() or "?" for one in lacking)
    return "".join(spelt), error.end


codecs.register_error(PLAIN, _plain)


class _File(io.FileIO):
    """The end of a stream. Once nobody reads it, or it takes no more, the rest goes nowhere and the command does what it was asked to."""

    full: OSError | None = None

    def write(self, data: Any) -> int:
        """Write text; a letter that the output lacks, or an output that is gone, ends in words."""
        try:
            return super().write(data)
        except OSError as error:
            if error.errno not in (*READER_LEFT, *FULL):
                raise
            self.full = self.full or (error if error.errno in FULL else None)
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, self.fileno())
            os.close(nowhere)
            return len(data)


class _Words(io.TextIOWrapper):
    """A stream of words: folded to its width, in letters that its encoding has."""

    def __init__(self, file: _File, stream: TextIO, at_once: bool) -> None:
        self._width = columns(stream)
        self._bare = codecs.lookup(stream.encoding).name == "ascii"  # click takes that for a mistake and would write UTF-8, so it does not hear of it
        super().__init__(io.BufferedWriter(file), "utf-8" if self._bare else stream.encoding, PLAIN, line_buffering=at_once)

    def write(self, text: str) -> int:
        if self._width:
            text = "\n".join(folded(line, self._width) for line in text.split("\n"))
        return super().write(text.encode("ascii", PLAIN).decode() if self._bare else text)


class Streams:
    """Standard output and error in place of Python's own."""

    def __init__(self) -> None:
        self._files: list[_File] = []
        sys.stdout, sys.stderr = self._taken(sys.stdout, at_once=False), self._taken(sys.stderr, at_once=True)

    def _taken(self, stream: Any, *, at_once: bool) -> Any:
        if stream is None:  # closed before the start
            return io.TextIOWrapper(io.FileIO(os.devnull, "w"), "utf-8")
        if os.name == "nt":  # whose console is written in a way of its own
            stream.reconfigure(errors=PLAIN)
            return stream
        self._files.append(_File(stream.fileno(), "w", closefd=False))
        return _Words(self._files[-1], stream, at_once or stream.isatty())

    def status(self, status: int | str | None) -> int | str | None:
        """The exit status of a command that has ended with one: 2, and words, where what it had to say found no room."""
        sys.stdout.flush()
        if not self._files or self._files[0].full is None:
            return status
        sys.stderr.write(f"standard output cannot be written: {str(self._files[0].full.strerror).lower()}\n    write it to a disk with room\n")
        return status or 2


class Help(click.HelpFormatter):
    """Help as wide as the terminal; where that is narrow, what an option does stands below its name."""

    def __init__(self, indent_increment: int = 2, width: int | None = None, max_width: int | None = None) -> None:
        shown = min(columns(sys.stdout) or 80, max_width or 80)
        super().__init__(indent_increment, width or max(shown, 24) - 2, max_width)

    def write_text(self, text: str) -> None:
        """A paragraph; words with hyphens stay whole."""
        super().write_text(text.replace("-", _WHOLE))

    def write_dl(self, rows: Any, col_max: int = 30, col_spacing: int = 2) -> None:
        """A list of terms; on a narrow terminal each text has a line of its own."""
        whole = [(name, text.replace("-", _WHOLE)) for name, text in rows]
        super().write_dl(whole, col_max if self.width >= NARROWEST - 2 else 2, col_spacing)

    def write(self, string: str) -> None:
        """Text as it is shown, with its hyphens again."""
        super().write(string.replace(_WHOLE, "-"))
