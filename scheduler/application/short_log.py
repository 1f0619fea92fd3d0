"""A harvest told in a few words on the command line, as the text of its file."""

from __future__ import annotations

import json
import re
import string
from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from scheduler.diagnostics import Fault
from scheduler.facts.lot import FRAMES, KINDS

SAMPLE = "'cut comb 5 shallow 17.4%' or 'extracted 14 medium'"
_LOT = re.compile(rf"(?P<kind>{'|'.join(KINDS)})\s+(?P<frames>\d+)\s+(?P<frame>{'|'.join(FRAMES)})(?:\s+(?P<moisture>\d+(?:\.\d+)?)\s*%)?")


def harvest_text(name: str, pulled: int, zone: ZoneInfo, hives: Sequence[str], lots: Sequence[str]) -> str:
    """The harvest file for a name, the moment of the pull, hives and lots in words; checked like any file when it is logged."""
    if not lots:
        raise Fault("a harvest has at least one lot", f"--lot {SAMPLE}")
    if len(lots) > len(string.ascii_lowercase):
        raise Fault(f"{len(lots)} lots are more than can be told in words", "a harvest file, with an id for each lot")
    at = datetime.fromtimestamp(pulled, zone)
    lines = [f"harvest: {_quoted(name)}", f"pulled: {at:%Y-%m-%dT%H:%M}", f"hives: [{', '.join(map(_quoted, hives))}]", "lots:"]
    lines += [f"  - {{id: {letter}, {_lot(text)}}}" for letter, text in zip(string.ascii_lowercase, lots, strict=False)]
    return "\n".join(lines) + "\n"


def _lot(text: str) -> str:
    match = _LOT.fullmatch(text.strip())
    if not match:
        raise Fault(f'"{text}" does not tell a lot', SAMPLE)
    moisture = f", moisture: {match['moisture']} %" if match["moisture"] else ""
    return f"kind: {match['kind']}, frames: {match['frames']}, frame: {match['frame']}{moisture}"


def _quoted(text: str) -> str:
    """A name as YAML reads it back, whatever is in it."""
    return json.dumps(text, ensure_ascii=False)
