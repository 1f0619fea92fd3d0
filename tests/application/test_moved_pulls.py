"""The text of a planned harvest for another moment."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from scheduler.application.moved_pulls import line_of_pull, moved
from scheduler.facts.fact import HarvestLogged
from tests.conftest import PULLED

LINES = "# mine\nharvest: fell-3\npulled: 2026-08-22T09:00 # when it is dry\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n"
AT = datetime(2026, 8, 23, 10, 30)  # noqa: DTZ001 - as a file has it, local


def logged(text: str, path: str = "fell-3.yaml") -> HarvestLogged:
    """A harvest that was logged with a text."""
    return HarvestLogged(occurred_at=PULLED, harvest="fell-3", text=text, path=path)


def test_only_the_line_of_the_pull_changes() -> None:
    """Comments stay, that of its own line too; a text without such a line is written anew."""
    assert moved(logged(LINES), AT).splitlines() == [*LINES.splitlines()[:2], "pulled: 2026-08-23T10:30 # when it is dry", LINES.splitlines()[3]]
    flow = "{harvest: fell-3, pulled: 2026-08-22T09:00, lots: [{id: a, kind: extracted, frames: 9, frame: medium}]}"
    assert "pulled: 2026-08-23T10:30" in moved(logged(flow), AT)


@pytest.mark.parametrize(("text", "line"), [(LINES, 3), ("pulled: 2026-08-22T09:00\n", 1), ("{pulled: x}", None), (None, None)])
def test_a_file_is_named_with_the_line_that_says_when(tmp_path: Path, text: str | None, line: int | None) -> None:
    """As it is on the disk now; none where there is no file, as of a harvest that was typed on the page."""
    path = tmp_path / "fell-3.yaml"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    assert line_of_pull(logged(LINES, str(path))) == ((path, line) if line else None)
