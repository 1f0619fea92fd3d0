"""`afterpull alert`."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.cli.watch import CHANNELS, config_from


@click.group(epilog="Example: afterpull alert test")
def alert() -> None:
    """Try the channels through which alerts are told."""


@alert.command(epilog="Example: afterpull alert test --channels channels.yaml")
@CHANNELS
def test(channels: Path | None) -> None:
    """Send one message through each channel, and say what arrived. Exit status 1 where nothing did."""
    from scheduler.cli.errors import refusals

    with refusals():
        from scheduler.daemon import channels_of
        from scheduler.outputs.notify import Message, first_that_delivers

        made = channels_of(config_from(channels), lambda *_: None)
        message = Message("test", "This is a test: nothing is to be done", "If you can read this, alerts reach you here.")
        arrived = 0
        for name, channel in made.items():
            outcome = first_that_delivers([channel], message)
            arrived += outcome.channel is not None and name != "terminal"
            click.echo(f"{name}: {'taken' if outcome.channel else 'not told: ' + outcome.reason.removeprefix(f'{name}: ')}")
    if not arrived:
        raise SystemExit(1)
