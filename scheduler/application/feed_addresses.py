"""The secret address of each person who subscribes: made, shown once, revoked. The ledger holds a hash of it, never the secret."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable, Mapping
from contextlib import suppress
from hashlib import sha256
from typing import NamedTuple

from scheduler.diagnostics import Fault, Refused, instead
from scheduler.facts.fact import Recorded, SettingChanged, in_force
from scheduler.ledger.store import Ledger

_SETTING = "feed address of "
_REVOKED = "revoked"
_OWN = " own work"  # after the hash, where the address shows that person's work alone; one made before shows all of it
_FETCHED = "feed of "  # under which the last fetch is kept
EVERY = 600  # fetches of one feed within so long are kept as one [s]
_OCTETS = 32  # 256 bits: not guessed, so a plain hash of it is enough


class Address(NamedTuple):
    """What is known of a person's address: the hash of its secret, and whether it shows their own work alone."""

    hash: str
    own: bool


class Fetch(NamedTuple):
    """When a feed was last fetched [s since 1970], and from where: "this machine" or "the network"."""

    at: int
    whence: str


def new(ledger: Ledger, person: str, now: int, *, own: bool = False) -> str:
    """A secret for a person, written down as its hash; an earlier one of theirs stops working. Raises `Fault` for a name that cannot be."""
    if not person.strip() or len(person) > 60 or not person.isprintable():
        raise Fault("a person's name is one line of at most 60 characters", "serve --new kitchen")
    secret = secrets.token_urlsafe(_OCTETS)
    value = _hash(secret) + (_OWN if own else "")
    ledger.append([SettingChanged(occurred_at=now, name=_SETTING + person.strip(), value=value)], now)
    return secret


def revoke(ledger: Ledger, person: str, now: int) -> None:
    """A person's address stops working. Raises `Fault` where they have none."""
    known = addresses(ledger.facts())
    if person not in known:
        raise Fault(f'"{person}" has no address', instead(person, known) if known else "serve --new NAME")
    ledger.append([SettingChanged(occurred_at=now, name=_SETTING + person, value=_REVOKED)], now)


def addresses(facts: Iterable[Recorded]) -> dict[str, Address]:
    """The address that is in force for each person, in order of name."""
    found: dict[str, str] = {}
    for one in in_force(facts):
        if isinstance(one.fact, SettingChanged) and one.fact.name.startswith(_SETTING):
            found[one.fact.name.removeprefix(_SETTING)] = one.fact.value
    return {person: Address(found[person].removesuffix(_OWN), found[person].endswith(_OWN)) for person in sorted(found) if found[person] != _REVOKED}


def whose(secret: str, known: Mapping[str, Address]) -> str | None:
    """The person whose secret this is. Every hash is compared in constant time, the right one and the rest alike."""
    shown, found = _hash(secret), None
    for person, address in known.items():
        if hmac.compare_digest(shown, address.hash):
            found = person
    return found


def fetched(ledger: Ledger, person: str, now: int, *, here: bool) -> None:
    """Keep that a person's feed was fetched just now, from this machine (`here`) or over the network. A ledger that is locked is no reason to refuse."""
    before = last_fetch(ledger, person)
    whence = "this machine" if here else "the network"
    if before is None or before.whence != whence or not 0 <= now - before.at < EVERY:
        with suppress(Fault, Refused):
            ledger.outgoing.see(_FETCHED + person, now, whence)


def last_fetch(ledger: Ledger, person: str) -> Fetch | None:
    """When a person's feed was last fetched; None where it never was."""
    found = ledger.outgoing.last_seen(_FETCHED + person)
    return Fetch(*found) if found else None


def _hash(secret: str) -> str:
    return sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
