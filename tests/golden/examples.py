"""What the goldens are made of: each example at a moment as a table, and one of them as JSON and as a calendar too, so that each can be judged by eye."""

from __future__ import annotations

import tempfile
from pathlib import Path

from click.testing import CliRunner

from scheduler.cli import main

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
MOMENTS = {
    "brindle_fold/fell-1": "2026-08-13T17:00",
    "brindle_fold/garden-1": "2026-08-15T09:00",
    "kestrel_bank/ridge-2": "2026-08-11T10:30",
    "kestrel_bank/meadow-1": "2026-08-22T09:00",
    "pelican_bend/levee-1": "2026-06-20T08:15",
    "wattle_gully/gully-1": "2026-02-21T09:30",
    "wattle_gully/creek-2": "2026-04-04T10:00",
}


TOGETHER = {"brindle_fold/fell-1": ["brindle_fold/garden-1"]}  # two apiaries that meet in one honey room
IN_EVERY_FORM = "wattle_gully/creek-2"  # the shortest


def made(example: str) -> dict[str, bytes]:
    """The files of one example by name: plan.txt; of one also plan.json and plan.ics."""
    if example != IN_EVERY_FORM:
        return {"plan.txt": planned(example).encode()}
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "plan.ics"
        table = planned(example, "--calendar", str(out)).encode()
        made = planned(example, "--json").partition(',\n  "made_by"')[0] + "\n}\n"  # a digest of every rule file says nothing to an eye
        return {"plan.json": made.encode(), "plan.txt": table, "plan.ics": out.read_bytes()}


def planned(example: str, *options: str) -> str:
    """What `afterpull plan` prints of an example at its moment."""
    files = [str(ROOT / "examples" / f"{one}.yaml") for one in (example, *TOGETHER.get(example, ()))]
    result = CliRunner().invoke(main, ["plan", *files, "--as-of", MOMENTS[example], *options])
    if result.exit_code:
        raise SystemExit(result.output)
    return result.output


def path(example: str, name: str) -> Path:
    """Where a golden lies."""
    return HERE / example.rpartition("/")[2] / name
