"""What a database reports, in words a keeper can act on."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, OperationalError, TimeoutError

from scheduler.diagnostics import Diagnostic, Refused

_LOCK_NOT_AVAILABLE = "55P03"  # PostgreSQL 17, appendix A
_CHECK = "it again; if it stays so: afterpull ledger check"
_LOCKED = ("the ledger is locked by another program that does not let go", "it again; close what else has the ledger open")
_SQLITE = (
    ("SQLITE_FULL", "there is no room left on the disk; nothing was written", "it again once there is room"),
    ("SQLITE_IOERR_WRITE", "the disk did not take what was written; nothing was recorded", "it again once the disk has room and is sound"),
    ("SQLITE_IOERR_SHMSIZE", "there is no room left on the disk; nothing was written", "it again once there is room"),
    ("SQLITE_IOERR", "the disk does not read or write the ledger", "a copy of the ledger to another disk, then: afterpull ledger check"),
    ("SQLITE_READONLY", "the ledger or its folder may not be written", "--ledger PATH in a folder that you may write to"),
    ("SQLITE_CANTOPEN", "the ledger cannot be opened", "--ledger PATH in a folder that exists and that you may write to"),
    ("SQLITE_PERM", "the ledger may not be opened", "--ledger PATH of a file that you may read and write"),
    ("SQLITE_BUSY", *_LOCKED),
    ("SQLITE_LOCKED", *_LOCKED),
    ("SQLITE_CORRUPT", "the ledger is damaged; it was left as it is", "--ledger PATH of a backup, then: afterpull ledger check"),
    ("SQLITE_NOTADB", "this is not a ledger, or it is damaged; it was left as it is", "--ledger PATH of a ledger or of a backup"),
    ("SQLITE_TOOBIG", "the text is too large for the ledger", "it in smaller files"),
)


def refused(place: str, message: str, write: str = "") -> Refused:
    """A refusal about the ledger as a whole."""
    return Refused([Diagnostic(place, 0, 0, message, write)])


@contextmanager
def in_words(place: str) -> Iterator[None]:
    """Turns what the database raises inside into `Refused`, with the place and what to do; a password in an address is never in `place`."""
    try:
        yield
    except DBAPIError as error:
        raise refused(place, *_explained(error)) from None
    except UnicodeDecodeError:  # a damaged schema, which the driver quotes in what it cannot read itself
        raise refused(place, *_of_sqlite("SQLITE_CORRUPT", "its text is damaged")) from None
    except TimeoutError:
        raise refused(place, "the ledger is busy: all connections of this program are in use", "it again in a moment") from None


def _explained(error: DBAPIError) -> tuple[str, str]:
    cause = error.orig
    said = next(iter(str(cause).strip().splitlines()), type(cause).__name__)
    if not isinstance(cause, sqlite3.Error):
        if getattr(cause, "sqlstate", None) == _LOCK_NOT_AVAILABLE:
            return _LOCKED
        if error.connection_invalidated or isinstance(error, OperationalError):
            return f"the ledger's server does not answer: {said}", "--ledger with the address of a server that runs and lets you in"
        return f"the ledger does not take this: {said}", _CHECK
    name = getattr(cause, "sqlite_errorname", None) or "SQLITE_CORRUPT"  # the driver gives none where text is not UTF-8
    return _of_sqlite(name, said)


def _of_sqlite(name: str, said: str) -> tuple[str, str]:
    return next(((message, write) for start, message, write in _SQLITE if name.startswith(start)), (f"the ledger does not take this: {said}", _CHECK))
