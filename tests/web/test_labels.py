"""What is printed for a lot: its card and its labels, read back from paper as a phone reads them."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from scheduler.application.ledger_view import view_at
from scheduler.application.lookup import named
from scheduler.facts.fact import HarvestLogged, HiveDisease
from scheduler.ledger.store import Ledger
from tests.conftest import EXAMPLES, PULLED
from tests.web.chromium import chromium, phone, too_wide
from tests.web.test_page import LATER, Browser, served

FINE, COARSE = 150, 100  # dots per inch of a page that is scanned
MM = 25.4  # of an inch


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, an hour after the pull."""
    yield from served(ledger)


def printed(browser: Browser, path: str, folder: Path, dpi: int) -> list[Image.Image]:
    """The sheets that come out of the printer, as pictures."""
    with chromium() as launched, phone(launched, browser.port) as tab:
        tab.goto(path)
        tab.pdf(path=folder / "sheet.pdf", prefer_css_page_size=True, print_background=False)
    subprocess.run(["pdftoppm", "-r", str(dpi), "-png", "sheet.pdf", "sheet"], cwd=folder, check=True, timeout=60)
    return [Image.open(file).convert("L") for file in sorted(folder.glob("sheet*.png"))]


def read(sheet: Image.Image) -> list[tuple[str, float]]:
    """The QR codes of a sheet, from top to bottom, with the width of their modules from edge to edge in dots."""
    found = [(one.position.top_left.y, one.text, one.position.top_right.x - one.position.top_left.x) for one in zxingcpp.read_barcodes(sheet)]
    return [(text, width) for _, text, width in sorted(found)]


def test_the_record_leads_to_card_and_labels_and_a_task_shows_its_code(browser: Browser) -> None:
    """The code that is printed is the one of the task; typed as an address in small letters it leads there."""
    page = browser.opens("/lot/ridge-2/a")
    assert 'href="/card/ridge-2/a"' in page
    assert 'href="/labels/ridge-2/a"' in page
    [code] = re.findall("Code ([A-Z2-7]{6})<", browser.opens("/task/ridge-2/a/freeze.1"))
    assert f"<strong>{code}</strong>" in browser.opens("/labels/ridge-2/a")
    assert "Freeze 16 packages" in browser.opens(f"/task/{code.lower()}")


def test_a_code_from_a_label_opens_its_task(browser: Browser) -> None:
    """Typed or scanned into the field of the first page, in either case; what is no code is refused in words."""
    [code] = re.findall("Code ([A-Z2-7]{6})<", browser.opens("/task/ridge-2/a/freeze.1"))
    assert '<form method="get" action="/task">' in browser.opens()
    assert browser.asks("GET", f"/task?code=+{code.lower()}+") == 303
    assert "Freeze 16 packages" in browser.opens(browser.headers["location"])
    for typed, said in (
        ("ZZZZZZ", "no task is named"),
        ("", "no code was typed"),
        ("%3Cimg%3E", "no task is named"),
        ("%0D%0AX: y".replace(" ", ""), "no task"),
    ):
        assert browser.asks("GET", f"/task?code={typed}") == 404
        assert said in browser.text
        assert "<img" not in browser.text


def test_each_label_is_made_as_often_as_asked_for(browser: Browser) -> None:
    """One for each package; a number that is none is refused in words."""
    once = browser.opens("/labels/ridge-2/a").count("<svg")
    assert browser.opens("/labels/ridge-2/a?copies=3").count("<svg") == 3 * once > 0
    for copies in ("0", "61", "-1", "many", "1e1", "²", "9" * 400):
        assert browser.asks("GET", f"/labels/ridge-2/a?copies={copies.replace('²', '%C2%B2')}") == 404
        assert "1 to 60" in browser.text


def test_nothing_of_a_checklist_and_no_mere_limit_has_a_label(browser: Browser) -> None:
    """The knife is washed with the packing; the last day for the cut is no work."""
    page = browser.opens("/labels/ridge-2/a")
    assert "Sort and pack" in page
    assert "Wash knife" not in page
    assert "Cut, spin or freeze" not in page


def test_a_card_says_that_its_lot_is_stopped_and_shows_what_was_written_as_text(ledger: Ledger) -> None:
    """Foulbrood in a hive whose name a page must not run."""
    harvest = (EXAMPLES / "ridge-2.yaml").read_text(encoding="utf-8").replace("[north, ridge]", "['<img src=x>', ridge]")
    ledger.append([HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text=harvest, path="h.yaml")], PULLED)
    ledger.append([HiveDisease(occurred_at=PULLED + 60, hive="<img src=x>", suspected=True)], PULLED + 60)
    with contextmanager(served)(ledger) as browser:
        for path in ("/card/ridge-2/a", "/labels/ridge-2/a"):
            page = browser.opens(path)
            assert "<img" not in page
            assert "style=" not in page
        card = browser.opens("/card/ridge-2/a")
        assert "STOPPED: foulbrood" in card
        assert "&lt;img src=x&gt;" in card


def test_an_unknown_lot_has_no_card(browser: Browser) -> None:
    """It says which there are."""
    for path in ("/card/ridge-2/zz", "/labels/ridge-2/zz"):
        assert browser.asks("GET", path) == 404
        assert "ridge-2/a" in browser.text


def test_steps_stand_in_the_order_of_their_times(browser: Browser) -> None:
    """Cappings drain from the first stroke on, though they are seen to a day later."""
    days = re.findall(r"</p><p>\w{3} (\d+) Aug (\d\d:\d\d)</p>", browser.opens("/labels/ridge-2/b"))
    assert len(days) > 3
    assert days == sorted(days, key=lambda one: (int(one[0]), one[1]))


@pytest.mark.system
def test_a_card_comes_out_on_one_sheet_and_its_code_is_read_from_it(browser: Browser, tmp_path: Path) -> None:
    """A6, without colours behind; 40 mm with the white around it, 29 modules of which 21 are the code (ISO/IEC 18004)."""
    [sheet] = printed(browser, "/card/ridge-2/a", tmp_path, FINE)
    assert [round(side / FINE * MM) for side in sheet.size] == [148, 105]
    [(code, width)] = read(sheet)
    assert named(view_at(browser.ledger, LATER).plan, code).id.startswith("ridge-2/a/cut")
    assert width / FINE * MM == pytest.approx(40 * 21 / 29, abs=0.6)


@pytest.mark.system
@pytest.mark.parametrize("dpi", [COARSE, FINE])
def test_every_label_of_a_sheet_is_read(browser: Browser, tmp_path: Path, dpi: int) -> None:
    """20 mm each with the white around it, as many as were asked for, over as many sheets as they need; none is cut by the edge of a sheet."""
    page = browser.opens("/labels/ridge-2/a?copies=4")
    wanted = re.findall("<strong>([A-Z2-7]{6})</strong>", page)
    sheets = printed(browser, "/labels/ridge-2/a?copies=4", tmp_path, dpi)
    assert {tuple(round(side / dpi * MM) for side in sheet.size) for sheet in sheets} == {(210, 297)}
    found = [one for sheet in sheets for one in read(sheet)]
    assert sorted(code for code, _ in found) == sorted(wanted)
    assert all(width / dpi * MM == pytest.approx(20 * 21 / 29, abs=0.8) for _, width in found)


@pytest.mark.system
def test_a_card_of_sixty_hives_is_one_sheet_dark_on_white_with_its_stop_on_it(ledger: Ledger, tmp_path: Path) -> None:
    """Whoever reads the screen in dark colours prints in light ones; the hives that find no room are counted."""
    hives = ", ".join(f"by the old orchard wall {number}" for number in range(60))
    harvest = (EXAMPLES / "ridge-2.yaml").read_text(encoding="utf-8").replace("[north, ridge]", f"[{hives}]")
    ledger.append([HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text=harvest, path="h.yaml")], PULLED)
    ledger.append([HiveDisease(occurred_at=PULLED + 60, hive="by the old orchard wall 59", suspected=True)], PULLED + 60)
    with contextmanager(served)(ledger) as browser:
        assert "wall 7 and 52 more" in browser.opens("/card/ridge-2/a")
        assert "Move nothing" in browser.text
        with chromium() as launched:
            tab = launched.new_page(color_scheme="dark", base_url=f"http://localhost:{browser.port}")
            tab.goto("/card/ridge-2/a")
            tab.pdf(path=tmp_path / "sheet.pdf", prefer_css_page_size=True, print_background=True)
    subprocess.run(["pdftoppm", "-r", "50", "-png", "sheet.pdf", "sheet"], cwd=tmp_path, check=True, timeout=60)
    [sheet] = [Image.open(file).convert("L") for file in tmp_path.glob("sheet*.png")]
    counted = sheet.histogram()
    assert sum(counted[230:]) > 0.7 * sheet.width * sheet.height


@pytest.mark.system
def test_card_and_labels_fit_a_phone(browser: Browser) -> None:
    """360 px wide, and a code that is typed opens its task; the browser complains of nothing, so the policy lets every picture through."""
    with chromium() as launched, phone(launched, browser.port) as tab:
        for path in ("/card/ridge-2/a", "/labels/ridge-2/a"):
            tab.goto(path)
            assert too_wide(tab) == []
            assert tab.locator("svg").first.bounding_box()["width"] > 70  # type: ignore[index]
        code = tab.locator(".labels strong").first.inner_text()
        tab.goto("/")
        assert too_wide(tab) == []
        tab.get_by_label("Code").fill(code.lower())
        tab.get_by_role("button", name="Open").tap()
        tab.wait_for_url("**/task/ridge-2/**")
        assert f"Code {code}" in tab.inner_text("main")
