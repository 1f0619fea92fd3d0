"""`afterpull init`."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

import click

from scheduler.cli.asking import at_terminal
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened


@click.command(epilog="Example: afterpull init --yard 'Kestrel Bank' --latitude 46.31 --longitude 14.18 --units metric")
@click.option(
    "--from", "source", type=click.Path(path_type=Path), metavar="YARD.yaml", help="Set a yard file that exists already, or set it again after a change."
)
@click.option("--yard", "name", metavar="NAME", help="The yard's name.")
@click.option("--latitude", type=float, help="Decimal degrees, north positive.")
@click.option("--longitude", type=float, help="Decimal degrees, east positive.")
@click.option("--timezone", metavar="ZONE", help="An IANA name. Default: this machine's.")
@click.option("--units", type=click.Choice(["metric", "us"]), help="The units you read; both can be written.")
@click.option("--yes", is_flag=True, help="Do not ask: this machine's time zone and metric units, unless others are said.")
@click.option("--out", type=click.Path(path_type=Path), default=Path("yard.yaml"), show_default=True, help="Where the yard file is written.")
@ledger_option
def init(
    source: Path | None,
    name: str | None,
    latitude: float | None,
    longitude: float | None,
    timezone: str | None,
    units: str | None,
    yes: bool,
    out: Path,
    ledger: str | None,
) -> None:
    """Write a yard file with comments that fits the place, and set it in the ledger. Asks at a terminal for what the options do not say."""
    with refusals():
        from scheduler.application.clock import now
        from scheduler.application.files import new_file, read_bytes
        from scheduler.application.tell import set_yard, unread
        from scheduler.diagnostics import Fault

        if source is not None and any(one is not None for one in (name, latitude, longitude, timezone, units)):
            raise Fault("--from takes all of the yard from its file", f"afterpull init --from {source}, and what differs in the file")
        path = source or out
        if source is None:
            if out.exists():
                raise Fault(f"{out} exists already", f"afterpull init --from {out}, or --out another file")
            from scheduler.application.templates import system_zone, yard_text

            zone = timezone or system_zone()
            if (None in (name, latitude, longitude, units)) and (yes or not at_terminal()):
                _settled(name, latitude, longitude, units, zone, yes)
                units = units or "metric"
            asked = None in (name, latitude, longitude, units)
            name = name or click.prompt("Name of the yard")
            latitude = latitude if latitude is not None else click.prompt("Latitude in degrees, north positive", type=float)
            longitude = longitude if longitude is not None else click.prompt("Longitude in degrees, east positive", type=float)
            timezone = click.prompt("Time zone", default=zone) if asked and timezone is None else zone
            units = units or click.prompt("Units", type=click.Choice(["metric", "us"]), default="metric")
            content = yard_text(name, latitude, longitude, timezone, units).encode()
        else:
            content = read_bytes(source)
        with nullcontext() if source else new_file(out, content), opened(ledger, create=True) as book:
            at = int(now().timestamp())
            yard = set_yard(book, content, str(path), at)
            for fault in unread(book, at):
                click.echo(f"no plan can be made with this yard file: {fault}", err=True)
    told = "after a harvest: afterpull log" if source else f"look through {path}, change what differs, then: afterpull init --from {path}"
    click.echo(f"{yard.yard} ({yard.place.timezone}) is set; {told}")


def _settled(name: str | None, latitude: float | None, longitude: float | None, units: str | None, zone: str, yes: bool) -> None:
    """Raises `Fault` for what nobody can be asked about: what only the keeper knows, and, unless `yes`, what this machine would choose."""
    from scheduler.diagnostics import Fault

    given = {"--yard NAME": name, "--latitude DEGREES": latitude, "--longitude DEGREES": longitude}
    missing = [option for option, value in given.items() if value is None]
    chosen = f"the time zone {zone}" + ("" if units else " and metric units")
    if missing:
        raise Fault("nothing was changed: what the yard is called and where it lies has to be said", f"afterpull init {' '.join(missing)}")
    if not yes:
        raise Fault(f"nothing was changed: this would set {chosen}", "afterpull init with --units metric or us, or with --yes, to do it")
