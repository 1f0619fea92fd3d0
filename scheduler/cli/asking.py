"""What a command asks before it does it, and what it says instead where nobody sits at a terminal."""

from __future__ import annotations

import sys

import click

from scheduler.diagnostics import Fault


def at_terminal() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty()


def agreed(would: str, command: str, *, yes: bool) -> bool:
    """Whether to do what a sentence says ("this would ..."). Raises `Fault` where nobody can be asked, with the command that does it without."""
    if yes:
        return True
    if at_terminal():
        return bool(click.confirm(f"{would[:1].upper()}{would[1:]}. Do it?"))
    raise Fault(f"nothing was changed: {would}", f"{command}, to do it")
