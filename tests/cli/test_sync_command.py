"""`afterpull sync` as it is typed: told where once, then by its name alone; the password from the keyring. The server is in memory."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import keyring
import pytest
from click.testing import CliRunner
from keyring.backend import KeyringBackend
from keyring.errors import KeyringLocked

from scheduler.cli import main
from tests.outputs.caldav.double import Lying

URL, PASSWORD = "https://calendar.example.org/dav/", "a comb in the hand"
pytestmark = pytest.mark.usefixtures("at_the_pull")


class Drawer(KeyringBackend):
    """A keyring in memory, which can be locked."""

    priority = 1.0

    def __init__(self) -> None:
        super().__init__()
        self.held: dict[tuple[str, str], str] = {}
        self.locked = False

    def get_password(self, service: str, username: str) -> str | None:
        if self.locked:
            raise KeyringLocked
        return self.held.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        self.held[service, username] = password


@pytest.fixture
def drawer(monkeypatch: pytest.MonkeyPatch) -> Iterator[Drawer]:
    """The keyring of the test, and no password in the environment."""
    monkeypatch.delenv("AFTERPULL_CALDAV_PASSWORD", raising=False)
    before, made = keyring.get_keyring(), Drawer()
    keyring.set_keyring(made)
    yield made
    keyring.set_keyring(before)


@pytest.fixture
def remote(monkeypatch: pytest.MonkeyPatch) -> Lying:
    """The one calendar of the server, which takes events and to-dos."""
    found = Lying()
    found.components = ("VEVENT", "VTODO")  # type: ignore[attr-defined]
    monkeypatch.setattr("scheduler.outputs.caldav.collection.find_or_create", lambda *_: found)
    return found


def told(where: str, *words: str, typed: str | None = None) -> tuple[int, str]:
    """Exit status and all that was said."""
    result = CliRunner().invoke(main, ["sync", "--ledger", where, *words], input=typed)
    return result.exit_code, result.output


def kinds(remote: Lying) -> set[str]:
    """Which kinds of entries are on the server."""
    return {part.name for part in remote.entries().values()}


def test_a_password_that_nobody_can_be_asked_for_changes_nothing(where: str, drawer: Drawer, remote: Lying, monkeypatch: pytest.MonkeyPatch) -> None:
    """It says what --yes would do, and that keeps the one of the environment."""
    words = ("--url", URL, "--user", "keeper", "--remember")
    status, said = told(where, *words, typed=f"{PASSWORD}\n")
    assert (status, "nothing was changed: this would keep the password of keeper in the system's keyring" in said) == (2, True)
    assert told(where, *words, "--yes")[0] == 2
    assert (drawer.held, remote.entries()) == ({}, {})
    monkeypatch.setenv("AFTERPULL_CALDAV_PASSWORD", PASSWORD)
    assert told(where, *words, "--yes")[0] == 0
    assert drawer.held == {("afterpull", "keeper@calendar.example.org"): PASSWORD}


def test_the_password_is_asked_once_and_kept_in_the_keyring_alone(
    where: str, tmp_path: Path, drawer: Drawer, remote: Lying, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From then on `afterpull sync` is enough; neither the ledger nor what is printed holds it."""
    monkeypatch.setattr("scheduler.cli.sync_command.at_terminal", lambda: True)
    first = told(where, "--url", URL, "--user", "keeper", "--remember", typed=f"{PASSWORD}\n")
    again = told(where)
    assert (first[0], again) == (0, (0, "In step with /keeper/kestrel-bank/: nothing written, 0 facts came back.\n"))
    assert drawer.held == {("afterpull", "keeper@calendar.example.org"): PASSWORD}
    assert PASSWORD not in first[1]
    assert not any(PASSWORD.encode() in path.read_bytes() for path in tmp_path.iterdir() if path.is_file())
    assert kinds(remote) == {"VEVENT"}


def test_a_keyring_without_the_password_or_locked_is_told(where: str, drawer: Drawer, remote: Lying) -> None:
    """With what to do, and nothing is written anywhere."""
    missing = told(where, "--url", URL, "--user", "keeper")
    drawer.locked = True
    locked = told(where, "--url", URL, "--user", "keeper")
    assert (missing[0], "there is no password for keeper@calendar.example.org" in missing[1], "--remember" in missing[1]) == (2, True, True)
    assert (locked[0], "keyring does not open" in locked[1], "AFTERPULL_CALDAV_PASSWORD" in locked[1]) == (2, True, True)
    assert remote.entries() == {}


@pytest.mark.usefixtures("drawer")
def test_one_kind_alone_is_remembered_until_both_are_asked_for(where: str, remote: Lying) -> None:
    """The first sync takes events; they are taken away when only to-dos are wanted, and come back with both."""
    shown = []
    for words in (["--url", URL], ["--only", "todos"], [], ["--only", "both"], []):
        assert told(where, *words)[0] == 0
        shown.append(kinds(remote))
    assert shown == [{"VEVENT"}, {"VTODO"}, {"VTODO"}, {"VEVENT", "VTODO"}, {"VEVENT", "VTODO"}]
