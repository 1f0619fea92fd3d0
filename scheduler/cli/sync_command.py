"""`afterpull sync`: to-dos and events on a CalDAV server, and back what people did to them."""

from __future__ import annotations

from collections.abc import Callable

import click

from scheduler.cli.asking import at_terminal
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened

_KINDS = "Only todos or only events, so that nothing rings twice; or both again. Without it, as in the last sync."


@click.command(epilog="Example: afterpull sync --url https://calendar.example.org/dav/ --user keeper, and from then on: afterpull sync")
@click.option("--url", default="", metavar="URL", help="The server, or one calendar on it; without it, the one of the last sync.")
@click.option("--user", default="", metavar="NAME", help="Who asks; without it, the one of the last sync.")
@click.option("--name", default="", metavar="NAME", help="The calendar's name, made where there is none; without it, the yard's.")
@click.option("--only", type=click.Choice(["todos", "events", "both"]), metavar="KIND", help=_KINDS)
@click.option("--plain", is_flag=True, help="Allow http:// to another machine: the password crosses the network in clear.")
@click.option("--remember", is_flag=True, help="Ask for the password and keep it in the system's keyring.")
@click.option("--yes", is_flag=True, help="With --remember: keep the password of AFTERPULL_CALDAV_PASSWORD, and do not ask.")
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
            kinds = {"todos": (sync.TODOS,), "events": (sync.CALENDAR,)}.get(account.only, calendar.components)
            done = sync.sync(book, calendar, f"{server.host}{calendar.href}", moment, [kind for kind in kinds if kind in calendar.components])
            caldav_account.synced(book, moment, account.url)
    for line in done.lines:
        click.echo(line)
    later = f" {done.left} entries were being edited there; the next sync takes them up." if done.left else ""
    click.echo(f"In step with {calendar.href}: {done.facts} facts came back.{later}")


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
