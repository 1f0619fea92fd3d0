"""`afterpull sync`: to-dos and events on a CalDAV server, and back what people did to them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import ModuleType
from typing import Any

import click

from scheduler.cli.asking import at_terminal
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened

_KINDS = "Only events, only todos, or both, which ring twice. Default: as in the last sync; in the first one events."


@click.command(epilog="Example: afterpull sync --url https://calendar.example.org/dav/ --user keeper, and from then on: afterpull sync")
@click.option("--url", default="", metavar="URL", help="The server, or one calendar on it. Default: the one of the last sync.")
@click.option("--user", default="", metavar="NAME", help="Who asks. Default: the one of the last sync.")
@click.option("--name", default="", metavar="NAME", help="The calendar's name, made where there is none. Default: the yard's.")
@click.option("--only", type=click.Choice(["todos", "events", "both"]), metavar="KIND", help=_KINDS)
@click.option("--plain", is_flag=True, help="Allow http:// to another machine: the password crosses the network in clear.")
@click.option("--remember", is_flag=True, help="Ask for the password and keep it in the system's keyring.")
@click.option("--yes", is_flag=True, help="Do not ask: many moves at once are meant, an older ledger too. With --remember: keep AFTERPULL_CALDAV_PASSWORD.")
@ledger_option
def sync(url: str, user: str, name: str, only: str | None, plain: bool, remember: bool, yes: bool, ledger: str | None) -> None:
    """Sync with a calendar server: the plan goes there; ticks, moved starts and dismissed alarms come back.

    The password is read from AFTERPULL_CALDAV_PASSWORD or the system's keyring; it is never written to a file.
    """
    with refusals(), opened(ledger) as book:
        from scheduler.application import caldav_account, sync
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import LedgerView
        from scheduler.outputs.caldav.collection import find_or_create
        from scheduler.outputs.caldav.http import Server
        from scheduler.outputs.calendar.uids import yard_slug

        moment = int(now().timestamp())
        account = caldav_account.account(book, caldav_account.Account(url, user, name, only or ""))
        asked = _password_of(account.user, yes) if remember else None
        password = caldav_account.password(account.url, account.user, asked)
        wanted = account.name or LedgerView(book.facts(), moment).yard.yard
        with Server(account.url, account.user, password, plain) as server:
            calendar = find_or_create(server, wanted, yard_slug(wanted))
            caldav_account.remember(book, account, moment)
            place = f"{server.host}{calendar.href}"
            first = () if sync.synced_before(book, place) or sync.CALENDAR not in calendar.components else (sync.CALENDAR,)
            named = {"todos": (sync.TODOS,), "events": (sync.CALENDAR,), "both": calendar.components}
            kinds = [kind for kind in named.get(account.only, first or calendar.components) if kind in calendar.components]
            done = _synced(sync, yes, book, calendar, place, moment, kinds)
            if first and not account.only:
                caldav_account.remember(book, replace(account, only="events"), moment)
            caldav_account.synced(book, moment, account.url)
    for line in done.lines:
        click.echo(line)
    wrote = ", ".join(f"{count} {what}" for count, what in ((done.made, "new"), (done.changed, "changed"), (done.deleted, "deleted")) if count)
    later = f" {done.left} entries were being edited there; the next sync takes them up." if done.left else ""
    click.echo(f"In step with {calendar.href}: {wrote or 'nothing'} written, {done.facts} facts came back.{later}")


def _synced(sync: ModuleType, yes: bool, *given: Any) -> Any:
    """A sync; what is done only where it is meant is asked at a terminal."""
    try:
        return sync.sync(*given, sure=yes)
    except sync.Unsure as unsure:
        if not at_terminal() or not click.confirm(f"{unsure.message[:1].upper()}{unsure.message[1:]}. Do it?"):
            raise
        return sync.sync(*given, sure=True)


def _password_of(user: str, yes: bool) -> Callable[[], str]:
    """How the password is asked for. Raises `Fault` where nobody can be asked, with the command that does it without."""
    import os

    from scheduler.application.caldav_account import VARIABLE
    from scheduler.diagnostics import Fault

    if yes and VARIABLE in os.environ:
        return lambda: os.environ[VARIABLE]
    if yes or not at_terminal():
        would = f"nothing was changed: this would keep the password of {user} in the system's keyring"
        raise Fault(would, f"{VARIABLE}=PASSWORD into the environment, then: afterpull sync --remember --yes, to do it")
    return lambda: str(click.prompt("Password", hide_input=True))
