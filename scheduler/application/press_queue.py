"""Answers that were pressed and are not written down yet, each in a small file: what a watch has taken survives its end, however it ends."""

from __future__ import annotations

import json
from contextlib import suppress
from hashlib import blake2b
from itertools import count
from pathlib import Path
from typing import NamedTuple
from uuid import uuid4

from scheduler.application.files import write_bytes
from scheduler.diagnostics import Refused
from scheduler.ledger.location import default_path, file_of

ABANDONED = 60  # s after which a press that another watch took is written by this one: that one has had several looks; assumed


class Press(NamedTuple):
    """A button of a message, by the message's key, pressed at a moment [s since 1970]; `name` is of the file that keeps it."""

    key: str
    button: str
    at: int
    name: str = ""


class PressQueue:
    """
    The presses that wait, in a folder beside the ledger; those of a ledger on a server lie where the usual ledger would.

    A file each, written whole and to the disk: several watches may share the folder, and nobody edits what another wrote.
    """

    def __init__(self, where: str) -> None:
        self._own, self._count, self._looked = set[str](), count(), False
        self._folder: Path | None = None
        with suppress(Refused):  # no home folder to keep them in
            file = file_of(where)
            beside = file or Path(default_path()).with_name(f"server-{blake2b(where.encode(), digest_size=8).hexdigest()}")
            self._folder = beside.with_name(f"{beside.name}.presses")

    def keep(self, press: Press) -> bool:
        """Whether the press is on the disk now."""
        name = f"{press.at:012}-{next(self._count):06}-{uuid4().hex[:8]}.json"
        if self._folder is None:
            return False
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            write_bytes(self._folder / name, json.dumps([press.key, press.button, press.at]).encode(), private=True)
        except (OSError, Refused):
            return False
        self._own.add(name)
        return True

    def waiting(self, now: int) -> list[Press]:
        """What is to be written down, in the order of the presses; of others' what they left, at the first call all of it."""
        found = []
        for path in sorted(self._folder.glob("[0-9]*.json")) if self._folder is not None else ():
            with suppress(OSError, ValueError, TypeError):  # written meanwhile, or nothing of ours
                key, button, at = json.loads(path.read_bytes())
                press = Press(key, button, at, path.name)
                if path.name in self._own or not self._looked or press.at <= now - ABANDONED:
                    found.append(press)
        self._looked = True
        return found

    def drop(self, press: Press) -> None:
        """It is written down."""
        assert self._folder is not None
        self._own.discard(press.name)
        with suppress(OSError):
            (self._folder / press.name).unlink()
        with suppress(OSError):
            self._folder.rmdir()  # where it is empty
