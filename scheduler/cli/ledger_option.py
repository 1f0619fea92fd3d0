"""The option `--ledger`, and the ledger it names, opened for one command."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from scheduler.ledger.store import Ledger

C = TypeVar("C", bound=Callable[..., Any])


def ledger_option(command: C) -> C:
    """Adds `--ledger WHERE` to a command, whose function takes it as `ledger: str | None`."""
    words = "The ledger: a file or postgresql://.... Default: AFTERPULL_LEDGER, else your data folder."
    return click.option("--ledger", metavar="WHERE", envvar="AFTERPULL_LEDGER", help=words, callback=_warned)(command)


def _warned(context: click.Context, parameter: click.Parameter, where: str | None) -> str | None:
    from scheduler.diagnostics import without_passwords

    typed = context.get_parameter_source(str(parameter.name)) is click.core.ParameterSource.COMMANDLINE
    if where is not None and typed and without_passwords(where) != where:
        cure = "put the address into AFTERPULL_LEDGER, or the password into ~/.pgpass"
        click.echo(f"everybody on this machine can read the password of --ledger: {cure}", err=True)
    return where


@contextmanager
def opened(where: str | None, *, create: bool = False, dumped: bool = False) -> Iterator[Ledger]:
    """The ledger at the place that `--ledger` named, or the usual one, closed at the end. Unless `create`, a missing one is refused.

    Older tables on a server are refused too, unless they were `dumped`.
    """
    from scheduler.ledger.location import default_path
    from scheduler.ledger.store import Ledger

    with Ledger.open(default_path(where), create=create, dumped=dumped) as ledger:
        yield ledger
