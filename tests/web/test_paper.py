"""The weeks ahead on paper: one sheet, with the picture on it and words that can be read."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from PIL import Image

from scheduler.ledger.store import Ledger
from tests.web.chromium import chromium, phone
from tests.web.test_page import served

A4_ACROSS = (842, 595)  # points of a sheet of A4 that lies on its side (ISO 216, rounded)
SMALLEST = 7.0  # points that a word on paper has at least; assumed


def _printed(ledger: Ledger, page: str, to: Path) -> dict[str, str]:
    """What is known of a page of ours once it is printed to a file."""
    for browser in served(ledger):
        with chromium() as launched, phone(launched, browser.port) as tab:
            tab.goto(page)
            tab.pdf(path=to, prefer_css_page_size=True, print_background=False)
    told = subprocess.run(["pdfinfo", to.name], cwd=to.parent, check=True, capture_output=True, text=True, timeout=60).stdout
    return dict(line.split(":", 1) for line in told.splitlines())


@pytest.mark.system
def test_the_work_comes_out_as_a_sheet_to_tick(ledger: Ledger, tmp_path: Path) -> None:
    """Upright on A4; each line of a checklist has its box, and nothing is on it that only a screen can do."""
    found = _printed(ledger, "/", tmp_path / "now.pdf")
    assert tuple(round(float(side)) for side in found["Page size"].split()[:3:2]) == A4_ACROSS[::-1]
    assert int(found["Pages"]) <= 2
    words = subprocess.run(["pdftotext", "-layout", "now.pdf", "-"], cwd=tmp_path, check=True, capture_output=True, text=True, timeout=60).stdout
    assert "Mark the boxes of lot a" in words
    assert not [one for one in ("now, or 19:40", "All as planned", "From a label", "Take it back", "Units on this device") if one in words]


@pytest.mark.system
def test_the_weeks_ahead_come_out_on_one_sheet(ledger: Ledger, tmp_path: Path) -> None:
    """Across on A4; the words of the picture are words, none smaller than print in a newspaper, and ink reaches over most of the sheet."""
    found = _printed(ledger, "/ahead", tmp_path / "ahead.pdf")
    assert found["Pages"].strip() == "1"
    width, _, height = found["Page size"].split()[:3]
    assert (round(float(width)), round(float(height))) == A4_ACROSS
    words = subprocess.run(["pdftotext", "-bbox", "ahead.pdf", "-"], cwd=tmp_path, check=True, capture_output=True, text=True, timeout=60).stdout
    sizes = [float(line.split('yMax="')[1].split('"')[0]) - float(line.split('yMin="')[1].split('"')[0]) for line in words.splitlines() if "<word" in line]
    assert len(sizes) > 60
    assert min(sizes) >= SMALLEST
    subprocess.run(["pdftoppm", "-r", "40", "-png", "ahead.pdf", "sheet"], cwd=tmp_path, check=True, timeout=60)
    [sheet] = [Image.open(file).convert("L").point(lambda dot: 255 * (dot < 200)) for file in tmp_path.glob("sheet*.png")]
    left, top, right, bottom = sheet.getbbox() or (0, 0, 0, 0)
    assert (right - left) > 0.8 * sheet.width
    assert (bottom - top) > 0.5 * sheet.height
