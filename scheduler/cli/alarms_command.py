"""`afterpull alarms`: which of the keeper's calendars will ring."""

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
        "unreliable",
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


RUNS = 180  # a watch that looked so long ago still runs: it keeps its looks about once a minute [s]


@click.command(epilog="Example: afterpull alarms")
@ledger_option
def alarms(ledger: str | None) -> None:
    """Show which ways to a calendar are in use here, when each was last used, and whether alarms ring there."""
    with refusals(), opened(ledger) as book:
        from scheduler.application.clock import now

        used = _used(book, int(now().timestamp()))
        watch = _watch(book, int(now().timestamp()))
    for name, rings, why in WAYS:
        mark = f"in use: {'; '.join(used[name])}" if name in used else "not in use"
        click.echo(click.wrap_text(f"{name[0].upper()}{name[1:]} - {mark}", text_width(100), "", "  "))
        click.echo(f"  Alarms: {rings}.")
        click.echo(click.wrap_text(why, text_width(100), "  ", "  "))
    click.echo(f"Notifications from this machine (afterpull watch) - {watch}")
    last = "  Alarms: yes, while it runs, whatever the calendar does. What must not be missed belongs here."
    click.echo(click.wrap_text(last, text_width(100), "  ", "  "))


def _used(book: Ledger, now: int) -> dict[str, list[str]]:
    """What is in use by the name of its way, and when it last was."""
    from scheduler.application.caldav_account import Account, account, last_sync
    from scheduler.application.feed_addresses import addresses, last_fetch
    from scheduler.diagnostics import Fault

    used: dict[str, list[str]] = {}
    for person, address in addresses(book.facts()).items():
        fetch = last_fetch(book, person)
        when = f"last fetched {_ago(fetch.at, now)}, from {fetch.whence}" if fetch else "never fetched"
        used.setdefault(WAYS[0][0], []).append(f"{person} ({'own work' if address.own else 'everything'}), {when}")
    try:
        url = account(book, Account()).url
    except Fault:
        return used
    synced = last_sync(book)
    used[WAYS[2][0]] = [f"{url}, {f'last sync {_ago(synced, now)}' if synced is not None else 'not synced since'}"]
    return used


def _watch(book: Ledger, now: int) -> str:
    """Whether the watch runs, by when it last looked."""
    from scheduler.application.watch import WATCH

    seen = book.outgoing.last_seen(WATCH)
    if seen is None:
        return "not in use"
    return "runs" if 0 <= now - seen[0] <= RUNS else f"does not run; it last looked {_ago(seen[0], now)}"


def _ago(at: int, now: int) -> str:
    from scheduler.quantities import show_duration

    return f"{show_duration(now - at)} ago" if at < now else "just now" if at == now else "while the clock was ahead"
