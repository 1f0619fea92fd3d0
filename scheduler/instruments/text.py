"""The bytes of a measured file as text, and where in it a cell stands."""

from __future__ import annotations

import codecs
import re

from scheduler.diagnostics import Fault

_MARKS = (  # byte-order marks: Unicode Standard, chapter 23.8
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NO_TABLE = ((b"PK\x03\x04", "a spreadsheet or an archive"), (b"\xd0\xcf\x11\xe0", "a spreadsheet"), (b"%PDF", "a PDF"), (b"\x89PNG", "a picture"))
_SAMPLE = 4096  # bytes that show whether every other one is zero
_NAMES = {"utf-8": "UTF-8", "utf-16-le": "UTF-16", "utf-16-be": "UTF-16", "cp1252": "Latin-1"}


class Unread(Fault):
    """What cannot be read, with its line and column counted from 1; line 0 means "the file as a whole"."""

    def __init__(self, line: int, column: int, said: str, write: str) -> None:
        self.line, self.column, self.said = line, column or int(line > 0), said
        super().__init__(f"line {line}: {said}" if line else said, write)


def decoded(content: bytes) -> tuple[str, str]:
    """
    The text of a file and the name of its encoding: UTF-8 or UTF-16 by their marks, UTF-16 by its zero bytes, UTF-8 where it is that, else Latin-1
    (in the form of Windows code page 1252, which adds only to it). Raises `Unread` where it is no text.
    """
    for start, what in _NO_TABLE:
        if content.startswith(start):
            raise Unread(0, 0, f"this is {what}, not a table as text", "the table exported as CSV")
    encoding, text = _decoded(content)
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise Unread(line, 0, "a zero byte: this is not a table as text", "the table exported as CSV")
    return text, _NAMES[encoding]


def _decoded(content: bytes) -> tuple[str, str]:
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return _by(encoding, content[len(mark) :])
    sample = content[:_SAMPLE]
    for zero, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        if len(sample) >= 4 and len(sample) % 2 == 0 and sample[zero::2].count(0) * 10 >= len(sample) * 4:
            return _by(encoding, content)
    try:
        return "utf-8", content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252", content.decode("cp1252", "replace")


def _by(encoding: str, content: bytes) -> tuple[str, str]:
    try:
        return encoding, content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content[: error.start].decode(encoding, "ignore").count("\n") + 1
        raise Unread(line, 0, f"this is marked as {_NAMES[encoding]}, and is not", "the table exported as CSV, UTF-8") from None


def lines_of(text: str) -> list[str]:
    """Lines as editors count them: a line ends with a line feed, a carriage return, or both."""
    return re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff"))


def column_at(line: str, delimiter: str, cell: int) -> int:
    """Where the cell of a number, counted from 0, begins in its line; columns count from 1."""
    found, quoted = 0, False
    for at, letter in enumerate(line):
        if found == cell:
            return at + 1
        if letter == '"':
            quoted = not quoted
        elif letter == delimiter and not quoted:
            found += 1
    return len(line) + 1 if found == cell else 1


def plain(name: str) -> str:
    """A column's name in lower case, its words apart: "temp_max (°C)" is "temp max c"."""
    return " ".join(re.findall(r"[^\W_]+", name.lower()))
