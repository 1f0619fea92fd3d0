"""Which calendar server, and who asks: what is said now, else what was said last; the password from the environment or the keyring. All invented."""

from __future__ import annotations

from collections.abc import Iterator

import keyring
import pytest
from keyring.backend import KeyringBackend
from keyring.errors import KeyringLocked

from scheduler.application.caldav_account import VARIABLE, Account, account, password, remember
from scheduler.diagnostics import Fault
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED

URL = "https://calendar.example.org/dav/"


class Ring(KeyringBackend):
    """A keyring in memory, or one that is locked."""

    priority = 1

    def __init__(self, *, locked: bool = False) -> None:
        self.kept: dict[tuple[str, str], str] = {}
        self.locked = locked

    def get_password(self, service: str, username: str) -> str | None:
        if self.locked:
            raise KeyringLocked("hunter2 is in here")
        return self.kept.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        self.kept[service, username] = password


@pytest.fixture
def ring(monkeypatch: pytest.MonkeyPatch) -> Iterator[Ring]:
    """The system's keyring is one of the test."""
    monkeypatch.delenv(VARIABLE, raising=False)
    before, ours = keyring.get_keyring(), Ring()
    keyring.set_keyring(ours)
    yield ours
    keyring.set_keyring(before)


def test_what_is_not_said_is_what_was_said_last(ledger: Ledger) -> None:
    """The address once, the name on another day; what is said now goes first."""
    remember(ledger, Account(URL, "kim"), PULLED)
    remember(ledger, account(ledger, Account(name="Bees")), PULLED + 60)
    assert account(ledger, Account()) == Account(URL, "kim", "Bees", "")
    assert account(ledger, Account(user="lee", only="todos")) == Account(URL, "lee", "Bees", "todos")


def test_what_is_known_already_is_not_recorded_again(ledger: Ledger) -> None:
    """A sync every hour adds nothing to the ledger."""
    remember(ledger, Account(URL, "kim"), PULLED)
    before = len(list(ledger.facts()))
    remember(ledger, account(ledger, Account()), PULLED + 3600)
    assert len(list(ledger.facts())) == before


def test_without_an_address_it_is_asked_for(ledger: Ledger) -> None:
    """A name alone is no server."""
    with pytest.raises(Fault, match="no calendar server is known yet"):
        account(ledger, Account(user="kim"))


def test_a_password_that_was_asked_for_is_kept_by_user_and_server(ring: Ring) -> None:
    """Another server, or another user, has another."""
    assert password(URL, "kim", lambda: "hunter2") == "hunter2"
    assert password(URL, "kim") == "hunter2"
    for url, user in ((URL, "lee"), ("https://other.example.org/", "kim")):
        with pytest.raises(Fault, match="there is no password for") as refused:
            password(url, user)
        assert "--remember" in refused.value.write


def test_the_environment_goes_before_the_keyring_unless_it_is_asked_anew(ring: Ring, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever types one wants that one."""
    monkeypatch.setenv(VARIABLE, "from outside")
    assert password(URL, "kim") == "from outside"
    assert password(URL, "kim", lambda: "typed") == "typed"


def test_nobody_needs_a_password_where_nobody_is_named(ring: Ring) -> None:
    """A server on the own machine that asks for none."""
    assert password(URL, "") == ""


def test_a_keyring_that_does_not_open_is_told_without_its_words(ring: Ring) -> None:
    """An error of a library may hold what was in it."""
    ring.locked = True
    with pytest.raises(Fault, match="keyring does not open") as refused:
        password(URL, "kim")
    assert "hunter2" not in f"{refused.value.message} {refused.value.write}"
