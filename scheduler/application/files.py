"""Reading and writing files for a person: every failure in words, and no half-written file."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from scheduler.diagnostics import Diagnostic, Refused


def read_bytes(path: Path) -> bytes:
    """A file's content; raises `Refused` where it can not be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise Refused([Diagnostic(str(path), 0, 0, f"can not be read: {_words(error)}", "the path of a file that exists and that you may read")]) from None


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: beside it first, then moved into its place."""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as error:
        raise Refused(
            [Diagnostic(str(path), 0, 0, f"can not be written: {_words(error)}", "the path of a file in a folder that exists and that you may write to")]
        ) from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        _permissions_of_a_new_file(name)
        Path(name).replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise Refused(
            [Diagnostic(str(path), 0, 0, f"can not be written: {_words(error)}", "the path of a file that you may write, on a disk with room")]
        ) from None


def _permissions_of_a_new_file(name: str) -> None:
    """A temporary file is private; what the keeper asked for gets the permissions any new file would."""
    mask = os.umask(0)
    os.umask(mask)
    Path(name).chmod(0o666 & ~mask)


def _words(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
