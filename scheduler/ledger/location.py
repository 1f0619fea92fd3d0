"""Where the ledger lies: a path, or the address of a PostgreSQL."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import platformdirs
from sqlalchemy import URL
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError

from scheduler.ledger.database_words import refused

NAME = "ledger.sqlite"
_SECRETS = ("password", "sslpassword")  # of the settings that may stand in an address
HOMELESS = ("nobody knows where your home folder is: HOME is not set", "--ledger PATH, or AFTERPULL_LEDGER=PATH before the command")


def default_path(given: str | None = None) -> str:
    """The place that was given (AFTERPULL_LEDGER, say), else a file in the platform's folder for a person's own data."""
    if given:
        return given
    try:
        folder = platformdirs.user_data_path("afterpull", appauthor=False).expanduser()
    except RuntimeError:
        raise refused("the ledger", *HOMELESS) from None
    return str(folder / NAME)


def file_of(where: str | Path) -> Path | None:
    """The ledger's file, or None where it is the address of a server. Raises `Refused` for any other kind of address."""
    text = str(where)
    scheme, mark, rest = text.partition("://")
    try:
        if not mark:
            return Path(where).expanduser()
        if scheme == "sqlite" and rest.startswith("/"):
            return Path(rest[1:]).expanduser()
    except RuntimeError:
        raise refused(text, *HOMELESS) from None
    if scheme in ("postgresql", "postgresql+psycopg"):
        return None
    raise refused(f"{scheme}://", "a ledger is a file or a PostgreSQL", "a path, or postgresql://user@host/database")


def server(where: str) -> URL:
    """The address of a PostgreSQL, for the driver used here. Raises `Refused` where it is malformed or the driver is missing."""
    if find_spec("psycopg") is None:
        raise refused("postgresql://", "the driver for PostgreSQL is not installed", 'pip install "afterpull[postgresql]"')
    try:
        url = make_url(where).set(drivername="postgresql+psycopg")
    except (ArgumentError, ValueError):
        url = None
    if url is None or "@" in (url.host or ""):  # of a password
        raise refused("postgresql://", "the address is malformed", "postgresql://user@host/database, a sign such as @ or / of a password as %40 or %2F")
    return url


def shown(url: URL) -> URL:
    """An address as others may read it: without passwords, which a program asks for or finds in ~/.pgpass."""
    return url.set(drivername="postgresql")._replace(password=None).difference_update_query(_SECRETS)
