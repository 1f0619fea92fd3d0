"""`afterpull serve`: calendar feeds, each person under a secret address, and the page, for this machine and for phones that are paired."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext, suppress
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


@click.command(epilog="Example: afterpull serve --lan --new Ash, then: afterpull serve --lan")
@click.option("--lan", is_flag=True, help="Let the local network in, unencrypted. Default: this machine alone.")
@click.option("--address", "base", metavar="HOST", help="How phones reach this machine: a host name, or https://... of a proxy in front of it.")
@click.option("--port", type=click.IntRange(1, 65535), default=PORT, show_default=True, metavar="N", help="The port to serve on.")
@click.option(
    "--new", metavar="NAME", help="Make a secret address and show it, once: of Ash's own work, where Ash works in the yard. An earlier one stops working."
)
@click.option("--everyone", is_flag=True, help="With --new: the address shows everybody's work.")
@click.option("--revoke", metavar="NAME", help="A person's address stops working.")
@click.option("--list", "listed", is_flag=True, help="Who has an address, and what it shows.")
@click.option("--pair", "paired", metavar="NAME", help="With --lan or --address: make a link that pairs one phone of Ash with the page, within ten minutes.")
@click.option("--phones", is_flag=True, help="Which phones are paired, whose they are, and when they were last here.")
@click.option("--unpair", metavar="PHONE", help="A phone is let in no more. --phones names them.")
@click.option("--certificate", type=click.Path(path_type=Path), metavar="PEM", help="Serve encrypted, with this certificate.")
@click.option("--key", type=click.Path(path_type=Path), metavar="PEM", help="The key of the certificate. Default: it stands in the same file.")
@click.option("--no-alerts", is_flag=True, help="Serve only. Default: show what is due from here too, as afterpull watch does.")
@CHANNELS
@ledger_option
def serve(
    lan: bool,
    base: str | None,
    port: int,
    new: str | None,
    everyone: bool,
    revoke: str | None,
    listed: bool,
    paired: str | None,
    phones: bool,
    unpair: str | None,
    certificate: Path | None,
    key: Path | None,
    no_alerts: bool,
    channels: Path | None,
    ledger: str | None,
) -> None:
    """Serve the plan as calendar feeds and as a page, for this machine or the local network. The page is for this machine and for phones that are paired.

    Filters are added to an address: ?todos=1, ?holds=1, ?hands-on=1, ?yard=kestrel-bank, ?stream=cut+comb, ?place=apiary, ?person=keeper (joined by &).
    """
    with refusals(), opened(ledger) as book:
        from scheduler.application import feed_addresses
        from scheduler.application.clock import now
        from scheduler.diagnostics import Fault

        moment = int(now().timestamp())
        if key is not None and certificate is None:
            raise Fault("--key is the key of a certificate", "--certificate too")
        reached = _reached(lan, base, port, "http" if certificate is None else "https")
        if everyone and new is None:
            raise Fault("--everyone is of a new address", f"afterpull serve --new {FIRST} --everyone")
        if revoke is not None:
            feed_addresses.revoke(book, revoke, moment)
            click.echo(f"The address of {revoke} is revoked.")
        if new is not None:
            _new(book, new, moment, port, reached, everyone=everyone)
        if listed:
            shown = [f"{person}: {'own work' if address.own else 'everything'}" for person, address in feed_addresses.addresses(book.facts()).items()]
            click.echo("\n".join(shown) or "Nobody has an address: afterpull serve --new NAME")
        if unpair is not None:
            _unpair(book, unpair, moment)
        if paired is not None:
            _pair(book, paired, moment, reached)
        if phones:
            _phones(book, moment)
        if revoke is None and new is None and not listed and unpair is None and paired is None and not phones:
            proxied = base is not None and "://" in base and certificate is None
            with nullcontext() if no_alerts else _watching(ledger, config_from(channels)):
                _serve(book, lan, port, moment, reached, certificate, key, proxied=proxied)


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


def _reached(lan: bool, base: str | None, port: int, scheme: str) -> str | None:
    """The address by which a phone reaches this machine, without a path; None where none does. Raises `Fault` for what is no address."""
    from urllib.parse import urlsplit

    from scheduler.diagnostics import Fault
    from scheduler.web.server import LOOPBACK, own_address

    if base is None:
        own = own_address(lan)
        return f"{scheme}://{own}:{port}" if own != LOOPBACK else None
    parts = urlsplit(base if "://" in base else f"{scheme}://{base}")
    try:
        sound = parts.scheme in ("http", "https") and parts.hostname and not (parts.username or parts.query or parts.fragment)
        given = parts.port is not None
    except ValueError:
        sound = given = False
    if not sound:
        raise Fault(f'"{base[:60]}" is no address of this machine', "a host name such as hive.local, or https://bees.example.org")
    plain = "://" not in base and not given
    return f"{parts.scheme}://{parts.netloc}{f':{port}' if plain else ''}{parts.path.rstrip('/')}"


def _serve(book: Ledger, lan: bool, port: int, moment: int, reached: str | None, certificate: Path | None, key: Path | None, *, proxied: bool) -> None:
    from urllib.parse import urlsplit

    from scheduler.application import feed_addresses
    from scheduler.application.clock import now
    from scheduler.application.page_contents import Pages
    from scheduler.application.page_forms import Forms
    from scheduler.application.paired_phones import PairedPhones
    from scheduler.application.publish import Feeds
    from scheduler.web.feeds import application
    from scheduler.web.guard import Guard
    from scheduler.web.page import Page
    from scheduler.web.server import check_certificate, listening, own_address, server_of

    def clock() -> int:
        return int(now().timestamp())

    if certificate is not None:
        check_certificate(certificate, key)
    feeds = Feeds(book, clock, lambda words: click.echo(words, err=True))
    feeds.sent()  # what cannot be planned is told before anything is served
    listener = listening(lan, port)
    people = list(feed_addresses.addresses(book.facts()))
    if not people:
        _new(book, FIRST, moment, port, reached, everyone=True)
    scheme = "http" if certificate is None else "https"
    click.echo(f"Serving {', '.join(people or [FIRST])} on {own_address(lan)}, port {port}. Stop with Ctrl-C.", err=True)
    if lan and certificate is None:
        click.echo("The local network is let in, unencrypted: whoever listens there can read what is sent, addresses too.", err=True)
    if not proxied:
        click.echo(f"The page, on this machine: {scheme}://localhost:{port}/", err=True)
    if reached is not None and not urlsplit(reached).path:
        click.echo(f"The page, on phones that are paired (serve --pair NAME, with the same --lan or --address): {reached}/", err=True)
        if not book.phones.all(moment):
            _pair(book, FIRST, moment, reached)
    names = {name for name in (reached, f"{scheme}://{own_address(lan)}:{port}" if lan else None) if name is not None}
    guard = Guard(PairedPhones(book, clock), names, secure=certificate is not None, paired_only=proxied)
    pages = Pages(book, clock)
    page = Page(pages, Forms(pages), guard)
    with suppress(KeyboardInterrupt):  # the server has ended all that was open, and then raises it again
        server_of(application(feeds, reached or "", page.routes()), certificate, key).run(sockets=[listener])
    pages.close()
    click.echo("Stopped.", err=True)


def _pair(book: Ledger, person: str, moment: int, reached: str | None) -> None:
    """Make a link that pairs one phone, and show it; as a QR code too where a person sees the output."""
    from urllib.parse import urlsplit

    from scheduler.application.paired_phones import new_link
    from scheduler.diagnostics import Fault

    if reached is None:
        raise Fault("no phone can reach this machine so", "afterpull serve --lan --pair NAME, or --address")
    if urlsplit(reached).path:
        raise Fault("the page needs a host name of its own, without a path", "--address https://bees.example.org")
    address = f"{reached}/pair/{new_link(book, person, moment)}"
    click.echo(f"Pairs one phone of {person}, once, within ten minutes:\n{address}")
    if coloured():
        import segno

        segno.make(address, error="m").terminal(compact=True)


def _phones(book: Ledger, moment: int) -> None:
    from scheduler.application.ledger_view import LedgerView
    from scheduler.local_time import spoken

    found = book.phones.all(moment)
    zone = LedgerView(book.facts(), moment).zone if found else None
    shown = [f"{one.name}: {one.person}, paired {spoken(one.paired_at, zone)}, last here {spoken(one.seen_at, zone)}" for one in found if zone]
    click.echo("\n".join(shown) or "No phone is paired: afterpull serve --lan --pair NAME")


def _unpair(book: Ledger, name: str, moment: int) -> None:
    from scheduler.application.paired_phones import unpair

    unpair(book, name, moment)
    click.echo(f"The phone {name} is let in no more.")


def _new(book: Ledger, person: str, moment: int, port: int, reached: str | None, *, everyone: bool) -> None:
    """Make an address and show it, once; as a QR code too where a phone can use it and a person sees the output."""
    from scheduler.application import feed_addresses
    from scheduler.application.ledger_view import LedgerView
    from scheduler.facts.people import KEEPER

    works = person in (KEEPER, *LedgerView(book.facts(), moment).yard.people)
    secret = feed_addresses.new(book, person, moment, own=works and not everyone)
    shows = f"{person}'s own work" if works and not everyone else "everything"
    if reached is None:
        click.echo(f"The address of {person} ({shows}), shown this once:\nhttp://localhost:{port}/feed/{secret}.ics")
        click.echo("For calendars on this machine alone. A phone needs: afterpull serve --lan, or --address")
        return
    scheme, _, rest = reached.partition("://")
    address = f"{'webcals' if scheme == 'https' else 'webcal'}://{rest}/feed/{secret}.ics"
    click.echo(f"The address of {person} ({shows}), shown this once:\n{address}")
    if coloured():
        import segno

        segno.make(address, error="m").terminal(compact=True)
