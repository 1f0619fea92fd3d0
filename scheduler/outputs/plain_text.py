"""Text that people typed, made safe for a terminal, a calendar and a phone.

Control characters become a space (a terminal would obey them, RFC 5545 section 3.1 forbids them), line and paragraph separators a line end,
half surrogates the replacement character. Bidirectional embeddings, overrides and isolates (U+202A-202E, U+2066-2069) are dropped: left open
in a title they would turn round the times that follow it. Names in right-to-left scripts read well without them.
"""

from __future__ import annotations

import re

_LINE_ENDS = "\r\n|[\n\r\v\f\x1c-\x1e\x85\u2028\u2029]"  # compiled where a text is suspect, which few are
_TURNING = "[\u202a-\u202e\u2066-\u2069]"
_CONTROL = "[\x00-\x09\x0b-\x1f\x7f-\x9f]"
_HALF = "[\ud800-\udfff]"
_SUSPECT = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


def paragraphs(text: str) -> str:
    """The text with its lines kept and nothing in it that a display would obey."""
    if not _SUSPECT.search(text):
        return text
    text = re.sub(_TURNING, "", re.sub(_LINE_ENDS, "\n", text))
    return re.sub(_HALF, "\ufffd", re.sub(_CONTROL, " ", text))


def one_line(text: str) -> str:
    """The text on a single line, runs of white space closed up."""
    return " ".join(paragraphs(text).split())
