"""The secret address of each person who subscribes: made, told once, revoked. The ledger holds a hash of it, never the secret."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable
from hashlib import sha256

from scheduler.diagnostics import Fault, instead
from scheduler.facts.fact import Recorded, SettingChanged, in_force
from scheduler.ledger.store import Ledger

_SETTING = "feed address of "
_REVOKED = "revoked"
_OCTETS = 32  # 256 bits: not guessed, so a plain hash of it is enough


def new(ledger: Ledger, person: str, now: int) -> str:
    """A secret for a person, written down as its hash; an earlier one of theirs stops working. Raises `Fault` for a name that can not be."""
    if not person.strip() or len(person) > 60 or not person.isprintable():
        raise Fault("a person's name is one line of at most 60 characters", "serve --new kitchen")
    secret = secrets.token_urlsafe(_OCTETS)
    ledger.append([SettingChanged(occurred_at=now, name=_SETTING + person.strip(), value=_hash(secret))], now)
    return secret


def revoke(ledger: Ledger, person: str, now: int) -> None:
    """A person's address stops working. Raises `Fault` where they have none."""
    known = hashes(ledger.facts())
    if person not in known:
        raise Fault(f'"{person}" has no address', instead(person, known) if known else "serve --new NAME")
    ledger.append([SettingChanged(occurred_at=now, name=_SETTING + person, value=_REVOKED)], now)


def hashes(facts: Iterable[Recorded]) -> dict[str, str]:
    """The hash that is in force for each person, in order of name."""
    found: dict[str, str] = {}
    for one in in_force(facts):
        if isinstance(one.fact, SettingChanged) and one.fact.name.startswith(_SETTING):
            found[one.fact.name.removeprefix(_SETTING)] = one.fact.value
    return {person: found[person] for person in sorted(found) if found[person] != _REVOKED}


def whose(secret: str, known: dict[str, str]) -> str | None:
    """The person whose secret this is. Every hash is compared in constant time, the right one and the rest alike."""
    told, found = _hash(secret), None
    for person, right in known.items():
        if hmac.compare_digest(told, right):
            found = person
    return found


def _hash(secret: str) -> str:
    return sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
