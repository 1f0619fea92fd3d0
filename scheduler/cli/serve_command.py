"""`afterpull serve`: calendar feeds for phones and computers, each person under a secret address."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.channels_option import CHANNELS, config_from
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened
from scheduler.cli.terminal import coloured

if TYPE_CHECKING:
    from scheduler.ledger.store import Ledger
    from scheduler.outputs.notify.config import NotificationConfig

PORT = 8710
FIRST = "keeper"  # who gets an address when nobody has one


@click.command(epilog="Example: afterpull serve --lan --new kitchen, then: afterpull serve --lan")
@click.option("--lan", is_flag=True, help="Let the local network in, unencrypted; without it, this machine alone.")
@click.option("--port", type=click.IntRange(1, 65535), default=PORT, show_default=True, metavar="N", help="The port to serve on.")
@click.option("--new", metavar="NAME", help="Make a secret address for a person and show it, once; an earlier one of theirs stops working.")
@click.option("--revoke", metavar="NAME", help="A person's address stops working.")
@click.option("--list", "listed", is_flag=True, help="Who has an address.")
@click.option("--no-alerts", is_flag=True, help="Serve only; without it, what is due is told from here too, as by afterpull watch.")
@CHANNELS
@ledger_option
def serve(lan: bool, port: int, new: str | None, revoke: str | None, listed: bool, no_alerts: bool, channels: Path | None, ledger: str | None) -> None:
    """Serve the plan as calendar feeds, for this machine or the local network.

    Filters are added to an address: ?todos=1, ?holds=1, ?hands-on=1, ?yard=kestrel-bank, ?stream=cut+comb, ?place=apiary, ?person=keeper (joined by &).
    """
    with refusals(), opened(ledger) as book:
        from scheduler.application import feed_addresses
        from scheduler.application.clock import now

        moment = int(now().timestamp())
        if revoke is not None:
            feed_addresses.revoke(book, revoke, moment)
            click.echo(f"The address of {revoke} is revoked.")
        if new is not None:
            _show(feed_addresses.new(book, new, moment), new, lan, port)
        if listed:
            click.echo("\n".join(feed_addresses.hashes(book.facts())) or "Nobody has an address: afterpull serve --new NAME")
        if revoke is None and new is None and not listed:
            with nullcontext() if no_alerts else _watching(ledger, config_from(channels)):
                _serve(book, lan, port, moment)


@contextmanager
def _watching(where: str | None, config: NotificationConfig) -> Iterator[None]:
    """The watch in a thread of this process; another that runs already goes on telling, and this one waits."""
    import threading

    from scheduler.daemon import Watch, run
    from scheduler.ledger.location import default_path

    stop = threading.Event()
    watch = threading.Thread(target=run, args=(Watch(default_path(where), config, say=lambda words: click.echo(words, err=True)),), kwargs={"stop": stop})
    watch.start()
    try:
        yield
    finally:
        stop.set()
        watch.join(timeout=20)


def _serve(book: Ledger, lan: bool, port: int, moment: int) -> None:
    from scheduler.application import feed_addresses
    from scheduler.application.clock import now
    from scheduler.application.publish import Feeds
    from scheduler.web.feeds import application
    from scheduler.web.server import listening, own_address, server_of

    feeds = Feeds(book, lambda: int(now().timestamp()), lambda words: click.echo(words, err=True))
    feeds.sent()  # what can not be planned is told before anything is served
    listener = listening(lan, port)
    people = list(feed_addresses.hashes(book.facts()))
    if not people:
        _show(feed_addresses.new(book, FIRST, moment), FIRST, lan, port)
    click.echo(f"Serving {', '.join(people or [FIRST])} on {own_address(lan)}, port {port}. Stop with Ctrl-C.", err=True)
    server_of(application(feeds)).run(sockets=[listener])


def _show(secret: str, person: str, lan: bool, port: int) -> None:
    """The address, once, and as a QR code where a person sees the output."""
    from scheduler.web.server import own_address

    address = f"webcal://{own_address(lan)}:{port}/feed/{secret}.ics"
    click.echo(f"The address of {person}, shown this once:\n{address}")
    if coloured():
        import segno

        segno.make(address, error="m").terminal(compact=True)
