"""Secret addresses: one for each person, revocable, and never in the ledger in clear."""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.application.feed_addresses import addresses, new, revoke, whose
from scheduler.diagnostics import Fault
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED


def test_a_secret_opens_until_it_is_revoked(ledger: Ledger) -> None:
    """Each person's own; revoking one leaves the other."""
    kitchen, honey_house = new(ledger, "kitchen", PULLED), new(ledger, "honey house", PULLED)
    known = addresses(ledger.facts())
    assert [whose(one, known) for one in (kitchen, honey_house, kitchen[:-1], "")] == ["kitchen", "honey house", None, None]
    revoke(ledger, "kitchen", PULLED + 1)
    assert [whose(one, addresses(ledger.facts())) for one in (kitchen, honey_house)] == [None, "honey house"]


def test_a_new_address_takes_the_place_of_the_old(ledger: Ledger) -> None:
    """A phone that was lost is shut out by the same command that lets the next one in."""
    lost, found = new(ledger, "kitchen", PULLED), new(ledger, "kitchen", PULLED + 1)
    known = addresses(ledger.facts())
    assert (whose(lost, known), whose(found, known)) == (None, "kitchen")


def test_no_secret_is_in_the_ledgers_files(ledger: Ledger, where: str) -> None:
    """Only a hash is written down, so a backup gives nobody an address."""
    secret = new(ledger, "kitchen", PULLED).encode()
    assert len(secret) >= 43  # 256 bits in base64
    assert not any(secret in path.read_bytes() for path in Path(where).parent.iterdir())


@pytest.mark.parametrize("name", ["", "  ", "two\nlines", "x" * 61])
def test_a_name_is_one_short_line(ledger: Ledger, name: str) -> None:
    """Anything else is refused, and nothing is written."""
    before = ledger.position()
    with pytest.raises(Fault, match="one line of at most 60 characters"):
        new(ledger, name, PULLED)
    assert ledger.position() == before


def test_revoking_what_was_never_given_names_who_has_one(ledger: Ledger) -> None:
    """With the nearest name first."""
    new(ledger, "kitchen", PULLED)
    with pytest.raises(Fault, match='"kitchn" has no address') as refused:
        revoke(ledger, "kitchn", PULLED)
    assert "kitchen" in refused.value.write
