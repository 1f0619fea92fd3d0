"""The options that say how a table from an instrument is meant, where the table does not say it itself."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TypeVar

import click

from scheduler.diagnostics import Diagnostic, Refused

if TYPE_CHECKING:
    from scheduler.estimates.tables import Table
    from scheduler.instruments.reader import AsTold

C = TypeVar("C", bound=Callable[..., Any])
_OPTIONS = (
    click.option(
        "--column", "columns", metavar="NAME", multiple=True, help="Of the table: the column that was measured; for the weather the lowest, then the highest."
    ),
    click.option("--unit", metavar="UNIT", help="Its unit, where the table does not say: °C, °F, kg, lb or g."),
    click.option("--time", "times", metavar="NAME", multiple=True, help="The column of its times; twice for the date and the time of day."),
    click.option("--zone", metavar="ZONE", help="The zone of its times, where it is not the yard's: UTC, +01:00 or Europe/Ljubljana."),
    click.option("--dates", metavar="ORDER", help="How 8/9/2026 is meant: 'day first', 'month first' or 'year first'."),
)


class TableOptions(NamedTuple):
    """What was typed of a table, as the function of a command takes it."""

    columns: tuple[str, ...]
    unit: str | None
    times: tuple[str, ...]
    zone: str | None
    dates: str | None

    def told(self) -> AsTold:
        """The same for the reader. Raises `Fault` for a unit, a zone or an order of dates that is none."""
        from scheduler.instruments.reader import as_told

        return as_told(self.columns, self.times, self.unit, self.zone, self.dates)

    def daily_table(self, path: Path, kind: Literal["scale", "weather"]) -> Table:
        """The daily table in a file, a hive scale's [kg] or the weather's [°C], read as was told. Raises `Refused` with its line and column."""
        from scheduler.application.files import LARGEST_TABLE, read_bytes
        from scheduler.estimates import tables
        from scheduler.instruments.moments import zone_told
        from scheduler.instruments.text import Unread, decoded

        told, zone = self.told(), zone_told(self.zone) if self.zone else UTC
        try:
            text, _ = decoded(read_bytes(path, LARGEST_TABLE))
            return tables.possible(tables.hive_scale(text, told, yard=zone) if kind == "scale" else tables.daily_temperatures(text, told, yard=zone))
        except Unread as fault:
            raise Refused([Diagnostic(str(path), fault.line, fault.column, fault.said, fault.write)]) from None


def table_options(command: C) -> C:
    """Adds the options to a command, whose function takes them by the names of `TableOptions`."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command
