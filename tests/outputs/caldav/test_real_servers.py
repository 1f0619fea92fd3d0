"""Two real servers on loopback, an independent client beside us, and a to-do program for the terminal."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler.application.publish import publish_plan, select
from scheduler.application.sync import sync
from scheduler.facts.fact import TaskDone, TaskPutOff
from scheduler.ledger.store import Ledger
from scheduler.outputs.caldav.collection import Collection, find_or_create
from scheduler.outputs.caldav.http import Server, SyncStopped
from scheduler.outputs.caldav.merge import read_entry
from scheduler.outputs.calendar.feed_selection import Selection, selected
from scheduler.outputs.calendar.uids import read_entry_uid
from tests.application.test_sync import sittings_of
from tests.conftest import PULLED
from tests.outputs.caldav.double import Lying
from tests.outputs.caldav.servers import PASSWORD, USER, other_client, running

HOUR = 3600
pytestmark = [pytest.mark.system, pytest.mark.slow]


@pytest.fixture(params=["radicale", "xandikos"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A server with an empty store."""
    folder = tmp_path / "server"
    folder.mkdir()
    with running(request.param, folder) as address:
        yield address


@pytest.fixture
def server(url: str) -> Iterator[Server]:
    """Our client of it."""
    with Server(url, USER, PASSWORD) as opened:
        yield opened


def calendar(server: Server) -> Collection:
    """The yard's calendar on it, made where there is none."""
    return find_or_create(server, "Kestrel Bank", "kestrel-bank")


def simple(ledger: Ledger, entries: dict[str, dict[str, str]], kind: str) -> list[str]:
    """UIDs of entries of tasks without a hold, in order."""
    plain = {task.id for task in publish_plan(ledger, PULLED).plan.tasks if task.hold_done is None and task.status == "planned"}
    return sorted(uid for uid in entries if (read_entry_uid(uid) or ("",))[0] in plain and (".todo@" in uid) == (kind == "todo"))


def test_both_ways_with_an_independent_client(url: str, server: Server, ledger: Ledger) -> None:
    """It reads what we put; we hear its tick and its move; its own entry and our second sync leave each other alone."""
    sync(ledger, calendar(server), "server", PULLED)
    entries = other_client(url)
    sent = publish_plan(ledger, PULLED)
    assert entries.keys() == {uid for kind in (Selection(), Selection(todos=True)) for uid in selected(sent.published, kind, sent.far)}
    todo = simple(ledger, entries, "todo")[0]
    ticked = (read_entry_uid(todo) or ("",))[0]
    visits = {
        uid: [task for task, phase in steps if phase == "begin"] for uid, steps in sittings_of(ledger, PULLED).items() if uid in entries and len(steps) > 2
    }
    event = next(uid for uid, tasks in visits.items() if len(tasks) > 2 and ticked not in tasks)
    other_client(url, "tick", todo, "then", "move", event, "24", "then", "add", "Choir")
    sync(ledger, calendar(server), "server", PULLED + 2 * HOUR)
    told = [one.fact for one in ledger.facts()]
    assert [(one.task, one.occurred_at) for one in told if isinstance(one, TaskDone)] == [(ticked, PULLED + 1800)]
    assert sorted(one.task for one in told if isinstance(one, TaskPutOff)) == sorted(visits[event])
    after = other_client(url)
    assert after[todo]["STATUS"] == "COMPLETED"
    assert "Choir" in {one["SUMMARY"] for one in after.values()}
    assert sync(ledger, calendar(server), "server", PULLED + 2 * HOUR).lines == []


def test_what_another_client_deletes_is_put_back(url: str, server: Server, ledger: Ledger) -> None:
    """And told once."""
    sync(ledger, calendar(server), "server", PULLED, ("VTODO",))
    todo = simple(ledger, other_client(url), "todo")[0]
    assert todo not in other_client(url, "delete", todo)
    assert any("put back" in line for line in sync(ledger, calendar(server), "server", PULLED, ("VTODO",)).lines)
    assert todo in other_client(url)


def test_going_offline_half_way_is_picked_up(server: Server, ledger: Ledger) -> None:
    """The line breaks after thirty writes; the next sync writes the rest, nothing twice."""

    class Breaking(Collection):
        written = 0

        def put(self, href: str, content: bytes, etag: str | None, *, new: bool) -> tuple[bool, str | None]:
            Breaking.written += 1
            if Breaking.written == 30:
                raise SyncStopped("the server cannot be reached", "it again")
            return super().put(href, content, etag, new=new)

    whole = calendar(server)
    with pytest.raises(SyncStopped, match="cannot be reached"):
        sync(ledger, Breaking(whole.server, whole.href, whole.components), "server", PULLED, ("VTODO",))
    assert len(whole.etags()) == 29
    assert sync(ledger, whole, "server", PULLED, ("VTODO",)).left == 0
    uids = [found.uid for one in whole.fetch(list(whole.etags())) if (found := read_entry(one.content, "Europe/Ljubljana"))]
    assert len(uids) == len(set(uids)) == publish_plan(ledger, PULLED).calendar(select(todos=True)).count(b"BEGIN:VTODO")


def test_a_write_over_a_newer_version_is_refused(server: Server) -> None:
    """If-Match and If-None-Match are honoured: 412, and the object stands."""
    there, double = calendar(server), Lying()
    content = b"".join(
        [
            b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//EN\r\nBEGIN:VTODO\r\nUID:one\r\nDTSTAMP:20260801T080000Z\r\n",
            b"SUMMARY:One\r\nEND:VTODO\r\nEND:VCALENDAR\r\n",
        ]
    )
    for remote in (there, double):
        href = f"{remote.href}one.ics"
        assert remote.put(href, content, None, new=True)[0]
        etag = remote.etags()[href]
        assert not remote.put(href, content, None, new=True)[0]
        assert remote.put(href, content.replace(b"One", b"Two"), etag, new=False)[0]
        assert not remote.put(href, content.replace(b"One", b"Three"), etag, new=False)[0]
        assert not remote.delete(href, etag)
        assert b"SUMMARY:Two" in remote.fetch([href])[0].content


def test_a_task_program_ticks_what_we_write(ledger: Ledger, tmp_path: Path) -> None:
    """todoman marks a to-do done in a folder of our objects; the sync hears it."""
    remote, folder = Lying(), tmp_path / "lists" / "yard"
    sync(ledger, remote, "double", PULLED, ("VTODO",))
    folder.mkdir(parents=True)
    uid = simple(ledger, {str(name): {} for name in remote.entries()}, "todo")[0]
    href = next(href for href, (_, content) in remote.held.items() if (found := read_entry(content, "UTC")) and found.uid == uid)
    (folder / "one.ics").write_bytes(remote.held[href][1])
    config = tmp_path / "config.py"
    config.write_text(f'path = "{tmp_path}/lists/*"\ncache_path = "{tmp_path}/cache.sqlite3"\ndate_format = "%Y-%m-%d"\ntime_format = "%H:%M"\n')
    words = ["todoman", "--config", str(config), "done", "1"]
    listed = subprocess.run([*words[:3], "list"], capture_output=True, text=True, check=False, env={**os.environ, "LC_ALL": "C.UTF-8"})
    assert listed.returncode == 0, listed.stderr
    subprocess.run(words, check=True, capture_output=True, env={**os.environ, "LC_ALL": "C.UTF-8"})
    remote.others(href, (folder / "one.ics").read_bytes())
    account = sync(ledger, remote, "double", 2**31 - 1, ("VTODO",))
    assert account.facts == 1
    assert [one.fact.task for one in ledger.facts() if isinstance(one.fact, TaskDone)] == [(read_entry_uid(uid) or ("",))[0]]
