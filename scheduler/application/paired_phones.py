"""Phones that may use the page: a link pairs one of them once; the ledger holds hashes of secrets, never a secret."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from hashlib import sha256
from typing import NamedTuple

from scheduler.diagnostics import Fault, instead
from scheduler.ledger.store import Ledger

HOLDS = 600  # s that a link can be used; assumed
LASTS = 200 * 86_400  # s that a phone stays paired, half of what browsers keep a cookie for (facts/web.md, section 6)
_OCTETS = 16  # 128 bits: not guessed, so a plain hash of it is enough
_NAMES = 4  # octets of the name that a phone is listed by; it opens nothing


class Paired(NamedTuple):
    """A phone that was paired just now: the secret for its cookie, and whose it is."""

    secret: str
    person: str


def new_link(ledger: Ledger, person: str, now: int) -> str:
    """The secret of a link that pairs one phone of a person. Raises `Fault` for a name that cannot be."""
    if not person.strip() or len(person) > 60 or not person.isprintable():
        raise Fault("a person's name is one line of at most 60 characters", "serve --lan --pair Ash")
    secret = secrets.token_urlsafe(_OCTETS)
    ledger.phones.link(_hash(secret), person.strip(), now, now + HOLDS)
    return secret


def unpair(ledger: Ledger, name: str, now: int) -> None:
    """Let a phone in no more. Raises `Fault` where none of that name is paired."""
    if not ledger.phones.revoke(name):
        known = [one.name for one in ledger.phones.all(now)]
        raise Fault(f'no phone "{name[:40]}" is paired', instead(name, known) if known else "serve --lan --pair NAME")


class PairedPhones:
    """The phones of one ledger and the links that pair them, as a server that runs asks for them."""

    def __init__(self, ledger: Ledger, now: Callable[[], int]) -> None:
        self._phones, self._now = ledger.phones, now

    def linked(self, link: str) -> str | None:
        """Whose link this is, while it holds; asking does not spend it, for previews of messages ask too."""
        return self._phones.linked(_hash(link), self._now())

    def pair(self, link: str) -> Paired | None:
        """Spend a link on a phone; None where it holds no more."""
        secret, now = secrets.token_urlsafe(2 * _OCTETS), self._now()
        person = self._phones.pair(_hash(link), _hash(secret), secrets.token_hex(_NAMES), now, now + LASTS)
        return Paired(secret, person) if person is not None else None

    def person(self, secret: str) -> str | None:
        """Whose phone has this secret; None where it is let in no more."""
        phone = self._phones.phone(_hash(secret), self._now())
        return phone.person if phone is not None else None


def form_token(secret: str) -> str:
    """What stands in the forms of one phone: nobody gets it without the secret, nor the secret from it; it outlives a new start of the server."""
    return sha256(f"form of {secret}".encode("utf-8", "surrogatepass")).hexdigest()


def _hash(secret: str) -> str:
    return sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
