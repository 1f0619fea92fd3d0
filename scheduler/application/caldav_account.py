"""Which calendar server, and who asks. The address and the name are settings in the ledger; the password comes from the environment or the keyring."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, fields
from urllib.parse import urlsplit

from scheduler.diagnostics import Fault
from scheduler.facts.fact import SettingChanged, in_force
from scheduler.ledger.store import Ledger

VARIABLE = "AFTERPULL_CALDAV_PASSWORD"
_SETTING = "caldav "
_SERVICE = "afterpull"
_SYNCED = "sync"  # under which the last sync is kept


@dataclass(frozen=True, slots=True)
class Account:
    """The server's address, who asks, the calendar's name ("" for the yard's), and what is put there ("todos", "events", "both"; "" where nothing was said)."""

    url: str = ""
    user: str = ""
    name: str = ""
    only: str = ""


def account(ledger: Ledger, given: Account) -> Account:
    """What is given now, and for the rest what was given last. Raises `Fault` where there is no address yet."""
    last = {one.fact.name: one.fact.value for one in in_force(ledger.facts()) if isinstance(one.fact, SettingChanged)}
    found = Account(*(getattr(given, part.name) or last.get(_SETTING + part.name, "") for part in fields(Account)))
    if not found.url:
        raise Fault("no calendar server is known yet", "--url https://calendar.example.org/dav/ --user NAME")
    return found


def remember(ledger: Ledger, given: Account, now: int) -> None:
    """Keep the settings that are new, for the syncs to come."""
    last = {one.fact.name: one.fact.value for one in in_force(ledger.facts()) if isinstance(one.fact, SettingChanged)}
    settings = {_SETTING + part.name: getattr(given, part.name) for part in fields(Account)}
    ledger.append([SettingChanged(occurred_at=now, name=name, value=value) for name, value in settings.items() if value != last.get(name, "")], now)


def synced(ledger: Ledger, now: int, url: str) -> None:
    """Keep that the last sync was just now."""
    ledger.outgoing.see(_SYNCED, now, url)


def last_sync(ledger: Ledger) -> int | None:
    """When the last sync ended [s since 1970]; None where there was none."""
    found = ledger.outgoing.last_seen(_SYNCED)
    return found[0] if found else None


def password(url: str, user: str, asked: Callable[[], str] | None = None) -> str:
    """
    The password of a user of a server: from the environment, else from the keyring; `asked` is put into the keyring first.

    Raises `Fault` where there is none, or the keyring does not open; nothing of it is in the words.
    """
    if not user:
        return ""
    where = f"{user}@{urlsplit(url).hostname}"
    if asked is None and VARIABLE in os.environ:
        return os.environ[VARIABLE]
    try:
        import keyring
        from keyring.errors import KeyringError
    except ImportError:
        raise Fault("the system's keyring cannot be asked for the password", f'pip install "afterpull[caldav]", or set {VARIABLE}') from None
    try:
        if asked is not None:
            keyring.set_password(_SERVICE, where, asked())
        found = keyring.get_password(_SERVICE, where)
    except KeyringError as error:
        raise Fault(f"the system's keyring does not open ({type(error).__name__})", f"set {VARIABLE}, or unlock the keyring") from None
    if found is None:
        raise Fault(f"there is no password for {where}", f"--remember, which asks for it, or set {VARIABLE}")
    return str(found)
