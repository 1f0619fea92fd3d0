"""Reading and writing files for a person: every failure in words, and no half-written file."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

from scheduler.diagnostics import Diagnostic, Refused
from scheduler.documents import LARGEST_FILE, too_large

LARGEST_TABLE = 100_000_000  # bytes of a table or a calendar; a million rows of a logger are 30 million
LARGEST_EXPORT = 1_000_000_000  # bytes of a ledger's export; twenty years of a yard with its tables are far fewer


def read_bytes(path: Path, largest: int = LARGEST_FILE) -> bytes:
    """A file's content, of at most `largest` bytes; raises `Refused` where it cannot be read, and before it is read where it is too large or endless."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode) and not stat.S_ISDIR(found.st_mode):
            raise Refused([Diagnostic(str(path), 0, 0, "cannot be read: it is a pipe or a device, of which nobody knows the length", "the path of a file")])
        if found.st_size > largest:
            raise too_large(str(path), found.st_size, largest)
        with path.open("rb") as file:
            content = file.read(largest + 1)  # not more, where it grows meanwhile
    except OSError as error:
        raise Refused([Diagnostic(str(path), 0, 0, f"cannot be read: {_words(error)}", "the path of a file that exists and that you may read")]) from None
    if len(content) > largest:
        raise too_large(str(path), len(content), largest)
    return content


def write_bytes(path: Path, content: bytes, *, private: bool = False) -> None:
    """Write a file whole or not at all: beside it first, then moved into its place; a `private` one its owner alone may read.

    A device or a pipe is written as it is.
    """
    try:
        if path.exists() and not path.is_file():
            path.write_bytes(content)
            return
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as error:
        raise _unwritten(path, error, "in a folder that exists and that you may write to") from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if not private:
            _permissions_of_a_new_file(name)
        Path(name).replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise _unwritten(path, error, "that you may write, on a disk with room") from None


@contextlib.contextmanager
def new_file(path: Path, content: bytes) -> Iterator[None]:
    """Write a new file before the facts about it are recorded: what cannot be written is never recorded, and the file goes where they are refused."""
    write_bytes(path, content)
    try:
        yield
    except BaseException:
        with contextlib.suppress(OSError):
            path.unlink()
        raise


def _unwritten(path: Path, error: OSError, such: str) -> Refused:
    return Refused([Diagnostic(str(path), 0, 0, f"cannot be written: {_words(error)}", f"the path of a file {such}")])


def _permissions_of_a_new_file(name: str) -> None:
    """A temporary file is private; what the keeper asked for gets the permissions any new file would."""
    mask = os.umask(0)
    os.umask(mask)
    Path(name).chmod(0o666 & ~mask)


def _words(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
