"""A calendar collection in memory that behaves as badly as servers do: ETags that change or are not told, calls that fail, objects of others."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from icalendar import Calendar

from scheduler.outputs.caldav.collection import Object
from scheduler.outputs.caldav.http import SyncStopped
from scheduler.outputs.caldav.merge import uid_of


class Lying:
    """`restless` ETags are new in every listing; `silent` writes tell none; every call whose number `failing` divides fails, before or after its work."""

    href = "/keeper/kestrel-bank/"

    def __init__(self, *, restless: bool = False, silent: bool = False, failing: int = 0) -> None:
        self.restless, self.silent, self.failing = restless, silent, failing
        self.held: dict[str, tuple[int, bytes]] = {}
        self.calls = self.puts = self._version = 0

    def etags(self) -> dict[str, str | None]:
        self._call()
        if self.restless:
            for href in self.held:
                self._keep(href, self.held[href][1])
        return {href: self._etag(href) for href in self.held}

    def fetch(self, hrefs: Sequence[str]) -> list[Object]:
        if hrefs:
            self._call()
        return [Object(href, self._etag(href), self.held[href][1]) for href in hrefs if href in self.held]

    def put(self, href: str, content: bytes, etag: str | None, *, new: bool) -> tuple[bool, str | None]:
        fails = self._call(quietly=True)
        if (href in self.held) if new else (href not in self.held or (etag is not None and etag != self._etag(href))):
            return False, None
        self._keep(href, content)
        self.puts += 1
        if fails:
            raise SyncStopped("the line broke after the server had written", "it again")
        return True, None if self.silent else self._etag(href)

    def delete(self, href: str, etag: str | None) -> bool:
        self._call()
        if href in self.held and etag is not None and etag != self._etag(href):
            return False
        self.held.pop(href, None)
        return True

    def entries(self) -> dict[str, Any]:
        """What is there, by UID; a UID that is there twice is a fault."""
        parts = [part for _, content in self.held.values() for part in Calendar.from_ical(content).subcomponents if part.name in ("VEVENT", "VTODO")]
        found = {str(part["UID"]): part for part in parts}
        assert len(found) == len(parts)
        return found

    def edit(self, uid: str, change: Any) -> None:
        """A person changes an entry on a phone."""
        for href, (_, content) in self.held.items():
            calendar = Calendar.from_ical(content)
            for part in calendar.subcomponents:
                if str(part.get("UID")) == uid:
                    change(part)
                    self._keep(href, calendar.to_ical())
                    return
        raise KeyError(uid)

    def remove(self, uid: str) -> None:
        """A person deletes an entry on a phone."""
        self.held = {href: one for href, one in self.held.items() if uid_of(one[1]) != uid}

    def others(self, href: str, content: bytes) -> None:
        """Somebody keeps something of their own here."""
        self._keep(href, content)

    def _call(self, *, quietly: bool = False) -> bool:
        self.calls += 1
        fails = bool(self.failing) and self.calls % self.failing == 0
        if fails and not quietly:
            raise SyncStopped("the server failed (500)", "it again", 500)
        return fails

    def _keep(self, href: str, content: bytes) -> None:
        self._version += 1
        self.held[href] = (self._version, content)

    def _etag(self, href: str) -> str:
        return f'"{self.held[href][0]}"'


def tick(part: Any, at: int) -> None:
    """As a task app does it."""
    part["STATUS"] = "COMPLETED"
    part.pop("COMPLETED", None)
    part.add("COMPLETED", datetime.fromtimestamp(at, UTC))


def other(uid: str = "choir@example.org", note: str = "Choir") -> bytes:
    """An entry that is not ours."""
    return (
        f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//EN\r\nBEGIN:VEVENT\r\nUID:{uid}\r\nDTSTAMP:20260801T080000Z\r\nDTSTART:20260812T180000Z\r\n"
        f"DTEND:20260812T200000Z\r\nSUMMARY:{note}\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    ).encode()
