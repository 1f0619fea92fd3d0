"""Refusals as the command line shows them: every fault on stderr, exit status 2, never a traceback."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, Any

import click

from scheduler.diagnostics import Fault, Refused, without_passwords


class InputRefused(click.ClickException):
    """Input that cannot be used; the message says what is wrong and what to write."""

    exit_code = 2

    def show(self, file: IO[Any] | None = None) -> None:
        """Print the message as it is, without a prefix: it may hold many lines of file, line and column."""
        click.echo(self.message, file=file, err=file is None)


@contextmanager
def refusals() -> Iterator[None]:
    """Turn `Refused`, `Fault` and files that cannot be read into a message and exit status 2."""
    try:
        yield
    except Refused as refused:
        raise InputRefused(str(refused)) from None
    except Fault as fault:
        raise InputRefused(without_passwords(fault.message + (f"\n    write {fault.write}" if fault.write else ""))) from None
    except (OSError, UnicodeDecodeError) as fault:
        raise InputRefused(without_passwords(_unreadable(fault))) from None


def _unreadable(fault: OSError | UnicodeDecodeError) -> str:
    if isinstance(fault, UnicodeDecodeError):
        return f"the file is not UTF-8 text (byte {fault.start})\n    write the file again as UTF-8"
    return f"{fault.filename or 'a file'}: {fault.strerror or fault}"
