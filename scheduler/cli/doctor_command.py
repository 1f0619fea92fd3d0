"""`afterpull doctor`: which of the keeper's calendars will ring."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened
from scheduler.cli.terminal import text_width

if TYPE_CHECKING:
    from scheduler.ledger.store import Ledger

# Each way to a calendar: its name, whether alarms ring there, and where that stands.
WAYS = (
    (
        "a subscription (afterpull serve)",
        "do not count on it",
        "A client that only reads may drop alarms (RFC 4791 section 8.6). Common practice: many ask when subscribing whether to remove alerts, with yes "
        "as the default, and some show none at all. Look for that switch, and wait for one alarm before you rely on it.",
    ),
    (
        "a file that was imported (afterpull calendar --out)",
        "usually, but it never updates",
        "Imported entries are the client's own, so most keep the alarms (common practice). One family of clients keeps a single alarm for each entry "
        "(Microsoft, [MS-OXCICAL], 2.1.3.1.1.20.62, VALARM: 0 or 1 instances).",
    ),
    (
        "a calendar server (afterpull sync)",
        "yes, where the client is set to",
        "A client that may change entries must keep their alarms, and executes display alarms if it is configured to (RFC 4791 section 8.6). "
        "Dismissals come back where the client writes ACKNOWLEDGED (RFC 9074 section 6.1).",
    ),
)


@click.command(epilog="Example: afterpull doctor")
@ledger_option
def doctor(ledger: str | None) -> None:
    """Say which ways to a calendar are in use here, whether alarms ring there, and what needs notifications instead."""
    with refusals(), opened(ledger) as book:
        used = _used(book)
    for name, rings, why in WAYS:
        mark = f"in use: {used[name]}" if name in used else "not in use"
        click.echo(f"{name[0].upper()}{name[1:]} - {mark}\n  Alarms ring: {rings}.")
        click.echo(click.wrap_text(why, text_width(100), "  ", "  "))
    last = "What must not be missed is told by notifications from this machine, whatever the calendar does: afterpull watch."
    click.echo(click.wrap_text(last, text_width(78)))


def _used(book: Ledger) -> dict[str, str]:
    from scheduler.application.caldav_account import Account, account
    from scheduler.application.feed_addresses import hashes
    from scheduler.diagnostics import Fault

    used = {}
    people = hashes(book.facts())
    if people:
        used[WAYS[0][0]] = ", ".join(people)
    try:
        used[WAYS[2][0]] = account(book, Account()).url
    except Fault:
        return used
    return used
