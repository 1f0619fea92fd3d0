"""Run in the environment of .ci/servers.sh, with the caldav library: other_client.py URL USER PASSWORD [JOB [then JOB]...].

A job is tick UID, move UID HOURS, delete UID or add TITLE.
"""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime, timedelta
from typing import Any

import caldav


def main(url: str, user: str, password: str, *words: str) -> None:
    """Do one thing after the other to the first calendar, then print every entry."""
    with caldav.DAVClient(url=url, username=user, password=password) as client:
        calendar = client.principal().calendars()[0]
        before = {str(one.icalendar_component["UID"]): one for one in _all(calendar)} if words else {}
        for job in (group.split("\n") for group in "\n".join(words).split("\nthen\n") if group):
            if job[0] == "add":
                calendar.save_event(dtstart=datetime(2026, 8, 12, 9, tzinfo=UTC), dtend=datetime(2026, 8, 12, 10, tzinfo=UTC), summary=job[1])
            else:
                _change(before[job[1]], job)
        found = {str(one.icalendar_component["UID"]): {name: _text(value) for name, value in one.icalendar_component.items()} for one in _all(calendar)}
    print(json.dumps(found))  # noqa: T201


def _all(calendar: Any) -> list[Any]:
    return [*calendar.events(), *calendar.todos(include_completed=True)]


def _change(one: Any, words: list[str]) -> None:
    if words[0] == "tick":
        one.complete(completion_timestamp=datetime(2026, 8, 11, 9, 0, tzinfo=UTC))
    elif words[0] == "delete":
        one.delete()
    elif words[0] == "move":
        with one.edit_icalendar_instance() as calendar:
            part = next(part for part in calendar.subcomponents if part.name in ("VEVENT", "VTODO"))
            for name in ("DTSTART", "DTEND", "DUE"):
                if name in part:
                    part[name].dt += timedelta(hours=int(words[2]))
        one.save()


def _text(value: Any) -> str:
    written = value[0] if isinstance(value, list) else value
    return written.to_ical().decode() if hasattr(written, "to_ical") else str(written)


if __name__ == "__main__":
    main(*sys.argv[1:])
