"""What the page keeps: a form counts once, a link pairs one phone, a phone that is revoked is out. In a file and on a server."""

from __future__ import annotations

import threading

from scheduler.ledger.phones import KEPT, SEEN_EVERY
from scheduler.ledger.store import Ledger
from tests.facts.recorded import FROST, HARVEST, PULLED

NOW = PULLED + 3600
DAY = 86_400


def test_a_form_sent_twice_is_written_once_and_answered_alike(ledger: Ledger) -> None:
    """Also by another program with the same ledger open: the first answer is given again."""
    before = len(ledger.facts())
    assert [one.fact for one in ledger.append_once("k1", [FROST], NOW, "Frost noted.")] == [FROST]
    assert ledger.append_once("k1", [HARVEST], NOW + 5, "Something else.") == ()
    assert ledger.phones.said("k1") == "Frost noted."
    assert [one.fact for one in ledger.facts()[before:]] == [FROST]
    assert (ledger.phones.said("k1"), ledger.phones.said("k2")) == ("Frost noted.", None)
    assert ledger.check() == []


def test_a_key_is_forgotten_when_no_phone_can_send_it_any_more(ledger: Ledger) -> None:
    """Not a second before."""
    ledger.append_once("k1", [FROST], NOW, "once")
    ledger.append_once("k2", [], NOW + KEPT, "later")
    assert ledger.phones.said("k1") == "once"
    ledger.append_once("k3", [], NOW + KEPT + 1, "later")
    assert ledger.phones.said("k1") is None


def test_eight_presses_at_once_are_one_fact(ledger: Ledger) -> None:
    """Each in a thread of its own."""
    before = len(ledger.facts())
    threads = [threading.Thread(target=ledger.append_once, args=("k1", [FROST], NOW, "once")) for _ in range(8)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(ledger.facts()) == before + 1


def test_a_link_pairs_one_phone_and_is_then_spent(ledger: Ledger) -> None:
    """Looking at it does not spend it; after its time it pairs none."""
    phones = ledger.phones
    phones.link("l1", "Ash", NOW, NOW + 600)
    assert phones.linked("l1", NOW + 1) == "Ash" == phones.linked("l1", NOW + 2)
    assert phones.linked("l1", NOW + 600) is None
    assert phones.pair("l1", "s1", "otter", NOW + 3, NOW + DAY) == "Ash"
    assert phones.pair("l1", "s2", "heron", NOW + 4, NOW + DAY) is None
    assert [one.name for one in phones.all(NOW + 5)] == ["otter"]
    phones.link("l2", "Ash", NOW, NOW + 600)
    assert phones.pair("l2", "s3", "heron", NOW + 600, NOW + DAY) is None


def test_a_phone_is_let_in_until_its_time_is_over_or_it_is_revoked(ledger: Ledger) -> None:
    """When it was here is noted by the hour."""
    phones = ledger.phones
    for link, secret, name in (("l1", "s1", "otter"), ("l2", "s2", "heron")):
        phones.link(link, "Ash", NOW, NOW + 600)
        phones.pair(link, secret, name, NOW, NOW + DAY)
    assert phones.phone("s1", NOW + SEEN_EVERY - 1) is not None
    assert {one.seen_at for one in phones.all(NOW + 1)} == {NOW}
    phones.phone("s1", NOW + SEEN_EVERY)
    assert {one.name: one.seen_at for one in phones.all(NOW + SEEN_EVERY)} == {"otter": NOW + SEEN_EVERY, "heron": NOW}
    assert phones.revoke("otter")
    assert not phones.revoke("otter")
    assert phones.phone("s1", NOW + 1) is None
    assert phones.phone("s2", NOW + DAY) is None
    assert phones.all(NOW + DAY) == ()
