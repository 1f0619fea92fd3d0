"""Lines for a terminal: wrapped to its width, painted only where it shows colour."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from scheduler.outputs.plain_text import one_line

_CODES = {"heading": "1", "warning": "1;31", "aside": "2", "provisional": "33"}


class Pen:
    """Writes wrapped lines; colour is a decision of the caller (terminal, NO_COLOR)."""

    def __init__(self, width: int, colour: bool) -> None:
        self.width, self.colour = width, colour

    def paint(self, text: str, style: str) -> str:
        """Text in a style, where colour is wanted."""
        return f"\x1b[{_CODES[style]}m{text}\x1b[0m" if self.colour and style else text

    def wrapped(self, text: str, *, first: str = "", indent: int = 0, style: str = "") -> Iterator[str]:
        """The lines of a text: `first` stands before the first, the others are indented to `indent`."""
        lines = textwrap.wrap(one_line(text), max(self.width - indent, 1), break_on_hyphens=False, break_long_words=False) or [""]
        for number, line in enumerate(lines):
            lead = first.ljust(indent) if number == 0 else " " * indent
            yield lead + self.paint(line, style)
