"""The process: `afterpull` and `python -m scheduler`."""

from __future__ import annotations

import atexit
import gc
import os

MADE_BETWEEN_SWEEPS = 100_000  # objects; a plan with its libraries makes about so many, and the default of 700 costs it a tenth of its time


def run() -> None:
    """Run the command line. Cycles are looked for seldom, which a command that stays open still needs, and not once more at the end."""
    gc.set_threshold(MADE_BETWEEN_SWEEPS)
    atexit.register(gc.freeze)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # none is wanted, and looking for them reads the lists of every package installed
    from scheduler.cli import main  # here, so that what it makes counts too
    from scheduler.cli.terminal import Streams

    streams = Streams()
    try:
        main(prog_name="afterpull")
    except SystemExit as end:
        raise SystemExit(streams.status(end.code)) from None


if __name__ == "__main__":
    run()
