"""What is wrong in something a person wrote, where it stands, and what to write instead."""

import re
from collections.abc import Iterable
from typing import NamedTuple

LISTED = 30  # known words told in full; a card has 25 keys
_IN_ADDRESS = r"(:/+[^\s:@/]*):\S+@"  # compiled where something is wrong
_AS_SETTING = r"""(?i)((?:password|passwd|pwd)\s*=\s*)(?:'[^']*'|"[^"]*"|[^\s&]+)"""


def without_passwords(text: str) -> str:
    """A text as others may read it: of an address or a connection's settings, the password is left out."""
    return re.sub(_AS_SETTING, r"\1…", re.sub(_IN_ADDRESS, r"\1:…@", text))


class Diagnostic(NamedTuple):
    """One fault. `line` and `column` count from 1; 0 means "the file as a whole". No password of an address is in its words."""

    path: str
    line: int
    column: int
    message: str
    write: str = ""

    def __str__(self) -> str:
        place = f"{self.path}:{self.line}:{self.column}" if self.line else self.path
        cure = f"\n    write {self.write}" if self.write else ""
        return without_passwords(f"{place}: {self.message}{cure}")


class Refused(Exception):
    """Input is refused; carries every fault found, not just the first."""

    def __init__(self, diagnostics: Iterable[Diagnostic]) -> None:
        self.diagnostics = tuple(sorted(diagnostics))
        super().__init__("\n".join(map(str, self.diagnostics)))


class Fault(ValueError):
    """A value is wrong; raised where its place in the file is not known. `write` says what to write instead, `at` where inside the value it stands."""

    def __init__(self, message: str, write: str = "", at: tuple[str | int, ...] = ()) -> None:
        self.message, self.write, self.at = message, write, at
        super().__init__(message)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word closest to what was written, or None when nothing is close."""
    import difflib  # only what is wrong needs it

    found = difflib.get_close_matches(word, list(known), n=1, cutoff=0.55)
    return found[0] if found else None


def instead(word: str, known: Iterable[str]) -> str:
    """What to write for an unknown word: the nearest known one first, then the rest."""
    words = list(known)
    close = nearest(word, words)
    listing = ", ".join(words[:LISTED])
    return f'"{close}" (known here: {listing})' if close else f"one of: {listing}"
