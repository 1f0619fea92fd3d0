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
        """
        The lines of a text: `first` stands before the first, the others are indented to `indent`, or less where a word would not fit behind it.

        Only a word wider than the terminal is broken.
        """
        text, lead = one_line(text), first.ljust(indent)
        words = text.split(" ")
        longest = max(map(len, words))
        hanging = " " * max(0, min(indent, self.width - longest))
        if len(lead) + len(words[0]) > self.width:
            if lead.strip():
                yield lead.rstrip()
            lead = hanging
        room = self.width if longest > self.width - indent else max(self.width, indent + 1)
        lines = textwrap.wrap(text, room, initial_indent=lead, subsequent_indent=hanging, break_on_hyphens=False, break_long_words=longest > self.width)
        for number, line in enumerate(lines or [lead]):
            before = len(lead) if number == 0 else len(hanging)
            yield line[:before] + self.paint(line[before:], style)
