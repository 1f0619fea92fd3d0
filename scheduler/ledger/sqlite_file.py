"""The ledger as one SQLite file: made whole or not at all, recognised before it is opened, copied while it is in use."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from scheduler.ledger.connections import Connections
from scheduler.ledger.database_words import refused

_MAGIC = b"SQLite format 3\0"
_APPLICATION_ID = 0x41504C47  # "APLG", in the header of every ledger (SQLite file format, section 1.3.17)
_HEADER = 100  # bytes
_LEFT = "it was left as it is"
_ANOTHER = "--ledger PATH of a ledger or of a backup"
_BESIDE = ("", "-wal", "-shm", "-journal")


def recognise(path: Path) -> None:
    """Raises `Refused` where the file is not a ledger. Only its first bytes are read; a foreign or damaged file stays as it is."""
    try:
        if not path.is_file() and not path.is_dir():
            raise refused(str(path), "this is a pipe or a device; a ledger is a file", _ANOTHER)
        with path.open("rb") as file:
            header = file.read(_HEADER)
    except OSError as error:
        raise refused(str(path), f"the ledger cannot be read: {_words(error)}", "--ledger PATH of a file that you may read and write") from None
    if not header:
        raise refused(str(path), f"the file is empty, a ledger never is; {_LEFT}", f"{_ANOTHER}, or remove the empty file to begin anew")
    if len(header) < _HEADER or not header.startswith(_MAGIC):
        raise refused(str(path), f"this is not a ledger, or it is damaged; {_LEFT}", _ANOTHER)
    if int.from_bytes(header[68:72], "big") != _APPLICATION_ID:
        raise refused(str(path), f"this is a database of another program; {_LEFT}", f"{_ANOTHER}, or of a file that does not exist yet")


def create(path: Path, migrate: Callable[[Connections], None], patience: float) -> None:
    """Make an empty ledger beside its place and move it there; one that another process has put there first is kept."""
    with _beside(path) as made:
        connections = Connections.to_file(made, patience)
        try:
            with connections.writing() as connection:
                connection.exec_driver_sql(f"PRAGMA application_id = {_APPLICATION_ID}")
            migrate(connections)
        finally:
            connections.close()
        _settle(made, path)


def copy(connections: Connections, target: Path) -> None:
    """A copy of the ledger as it is at this moment, while others go on writing. Raises `Refused` where the target exists."""
    if target.exists():
        raise refused(str(target), "the file exists; a backup overwrites nothing", "the path of a file that does not exist yet")
    with _beside(target) as made:
        with connections.reading() as connection, contextlib.closing(sqlite3.connect(made)) as other:
            source = connection.connection.driver_connection
            assert isinstance(source, sqlite3.Connection)
            source.backup(other)
            other.execute("PRAGMA journal_mode = WAL").close()
        if not _settle(made, target):
            raise refused(str(target), "the file exists; a backup overwrites nothing", "the path of a file that does not exist yet")


@contextlib.contextmanager
def _beside(path: Path) -> Iterator[Path]:
    """A new empty file in the folder of `path`, gone afterwards. Faults of the folder or disk come out as `Refused`."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        os.close(handle)
    except OSError as error:
        raise refused(str(path), f"the ledger cannot be made here: {_words(error)}", "--ledger PATH in a folder that you may write to") from None
    try:
        yield Path(name)
    except (OSError, sqlite3.Error) as error:
        cause = _words(error) if isinstance(error, OSError) else str(error)
        raise refused(str(path), f"the ledger cannot be made here: {cause}", "--ledger PATH on a disk with room") from None
    finally:
        for ending in _BESIDE:
            with contextlib.suppress(OSError):
                Path(name + ending).unlink()


def _settle(made: Path, path: Path) -> bool:
    """Give a finished file its name, unless the name is taken; True where it was given. It survives a power cut from here on."""
    with made.open("rb") as file:
        os.fsync(file.fileno())
    try:
        os.link(made, path)
    except FileExistsError:
        return False
    except OSError:  # a file system without hard links; the window between look and move is as small as it can be made
        if path.exists():
            return False
        made.rename(path)
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    return True


def _words(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
