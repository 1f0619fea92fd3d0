"""The picture of the page in the README: `python -m tests.web.picture OUT.png` draws *Now* and the weeks ahead of the invented example side by side.

Both are as a phone of 360 px shows them, down to the end of the first step, on the evening after the pull, when the first comb lies on the rack.
"""

from __future__ import annotations

import sys
import tempfile
from base64 import b64encode
from io import BytesIO
from math import ceil
from pathlib import Path

from PIL import Image

from scheduler.application.ledger_view import view_at
from scheduler.facts.fact import TaskBegun, TaskDone
from scheduler.ledger.store import Ledger
from scheduler.local_time import HOUR
from tests.conftest import PULLED, fill
from tests.web.chromium import PHONE, chromium, phone
from tests.web.test_page import served

MARGIN = 6  # px below the first step
COLOURS = 32
NOW = PULLED + 8 * HOUR  # half past six in the evening
SHOWN = ("/", "/ahead")
SIDE_BY_SIDE = "<body style='margin:0;display:flex;gap:16px;background:#fff'>{}</body>"


def drawn() -> bytes:
    """The picture as PNG."""
    with tempfile.TemporaryDirectory() as folder, Ledger.open(Path(folder) / "ledger.sqlite") as ledger, chromium() as launched:
        fill(ledger)
        for task in view_at(ledger, PULLED).plan.tasks:
            if task.is_open and task.hands and task.finish <= NOW:
                ledger.append([TaskDone(occurred_at=task.finish, task=task.id, started_at=task.start)], task.finish)
            elif task.is_open and task.sittings and task.holds_from <= NOW:
                ledger.append([TaskBegun(occurred_at=task.holds_from, task=task.id)], task.holds_from)
        for browser in served(ledger, now=lambda: NOW):
            with phone(launched, browser.port) as tab:
                shots = []
                tab.goto("/")
                step = tab.locator(".steps > li").first.bounding_box()
                assert step is not None
                height = ceil(step["y"] + step["height"]) + MARGIN
                tab.set_viewport_size({"width": PHONE["width"], "height": height})
                for path in SHOWN:
                    tab.goto(path)
                    shots.append(f"<img src='data:image/png;base64,{b64encode(tab.screenshot()).decode()}'>")
            sheet = launched.new_page(viewport={"width": PHONE["width"] * len(SHOWN) + 16, "height": height})
            sheet.set_content(SIDE_BY_SIDE.format("".join(shots)))
            return _small(sheet.screenshot())
    raise AssertionError("nothing was served")


def _small(png: bytes) -> bytes:
    """The same in so many colours, which the page has no more of than these."""
    small = BytesIO()
    Image.open(BytesIO(png)).convert("RGB").quantize(COLOURS).save(small, "PNG", optimize=True)
    return small.getvalue()


def main(arguments: list[str]) -> int:
    """Write the picture. Returns 0."""
    [path] = arguments
    Path(path).write_bytes(drawn())
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
