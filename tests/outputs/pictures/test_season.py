"""The picture of the weeks ahead: whole as XML, words that lie on nothing, every hold with its end, the freezer as full as the plan fills it."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path
from random import Random
from typing import Any
from xml.etree import ElementTree

import pytest

from scheduler.application.behind_picture import behind
from scheduler.application.plan_files import problem_of
from scheduler.outputs.pictures.pen import wide
from scheduler.outputs.pictures.season import BROAD, COLOURS, NARROW, Behind, season_file, season_picture
from scheduler.planning.plan import Plan
from scheduler.planning.planner import plan as planned
from tests.chance import times
from tests.outputs.entries_count import EXAMPLES, two_lots
from tests.outputs.plans import plan as written

SVG = "{http://www.w3.org/2000/svg}"
MOMENTS = {
    "kestrel_bank/ridge-2": "2026-08-11T10:30",
    "kestrel_bank/meadow-1": "2026-08-22T09:00",
    "pelican_bend/levee-1": "2026-06-20T08:15",
    "wattle_gully/gully-1": "2026-02-21T09:30",
    "wattle_gully/creek-2": "2026-04-04T10:00",
    "brindle_fold/fell-1": "2026-08-15T13:00",
}
WIDTHS = (NARROW, BROAD)


def example(name: str) -> tuple[Plan, Behind]:
    """An example as at its pull, with what lies behind it."""
    problem = problem_of((EXAMPLES / f"{name}.yaml",), None, (), MOMENTS[name])
    return planned(problem, cures=False), behind(problem.yard, problem.season, problem.as_of)


def boxes(picture: str) -> list[tuple[str, float, float, float, float]]:
    """Each text with its left, top, right and bottom, by the width of its letters."""
    found = []
    for one in ElementTree.fromstring(picture).iter(f"{SVG}text"):
        size, words = float(one.get("font-size", "13")), "".join(one.itertext())
        room, x, y = wide(words, size), float(one.get("x", "0")), float(one.get("y", "0"))
        left = x - {"start": 0.0, "middle": room / 2, "end": room}[one.get("text-anchor", "start")]
        found.append((words, left, y - size * 0.8, left + room, y + size * 0.2))
    return found


def sound(picture: str, width: int) -> None:
    """No words on other words, none outside."""
    found = boxes(picture)
    on = [(a[0], b[0]) for a, b in combinations(found, 2) if a[1] < b[3] and b[1] < a[3] and a[2] < b[4] and b[2] < a[4]]
    assert on == []
    assert [words for words, left, top, right, _ in found if left < -1 or right > width + 1 or top < 0] == []


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", MOMENTS)
def test_no_words_lie_on_words_and_a_picture_is_light(name: str, width: int) -> None:
    """Three climates, one and two freezers, two and three lots; under 25 kB, as web pages ask for."""
    picture = season_picture(*example(name), width)
    sound(picture, width)
    assert len(picture.encode()) < 25_000


@pytest.mark.slow
@pytest.mark.parametrize("number", range(times(40)))
def test_so_it_is_in_yards_drawn_by_chance(number: int) -> None:
    """Whatever the evenings, the freezer and the lots are."""
    plan = two_lots(Random(number))
    for width in WIDTHS:
        sound(season_picture(plan, Behind(freezers=(("freezer", 0.09),)), width), width)


@pytest.mark.parametrize("name", MOMENTS)
def test_every_hold_of_the_first_days_says_when_it_ends(name: str) -> None:
    """Where a bar begins, its card stands with the moment of its stop."""
    plan, back = example(name)
    words = [words for words, *_ in boxes(season_picture(plan, back, NARROW))]
    soon = [
        task for task in plan.tasks if task.is_open and task.has_time and task.hold_done and task.holds_from < plan.as_of + 5 * 86400 and task.alongside is None
    ]
    assert soon
    for task in soon:
        card = task.rule.partition("/")[2]
        assert any(one.startswith((f"{card} to ", f"{card} {task.place} to ")) for one in words), task.id


def test_the_freezer_is_as_full_as_the_plan_fills_it() -> None:
    """The peak is named in litres: the most that lies in it at once."""
    plan, back = example("kestrel_bank/ridge-2")
    loads = [(task.start, task.finish, dict(task.occupies)["freezer"]) for task in plan.tasks if task.has_time and "freezer" in dict(task.occupies)]
    turns = sorted({at for begins, ends, _ in loads for at in (begins, ends)})
    peak = max(sum(amount for begins, ends, amount in loads if begins <= at < ends) for at, _ in pairwise(turns))
    words = [words for words, *_ in boxes(season_picture(plan, back))]
    assert f"{peak * 1000:.0f} L" in words
    assert "sour cherries 60 L" in words


def test_what_a_person_wrote_is_escaped_and_the_same_plan_gives_the_same_picture() -> None:
    """A yard and a lot named like markup."""
    plan, back = example("kestrel_bank/ridge-2")
    hostile = replace_lot(plan._replace(yard="<script>alert(1)</script>"), '"><img src=x>')
    picture = season_picture(hostile, back._replace(reserved=(("freezer", plan.as_of, plan.as_of + 86400, 0.01, "<b>&</b>"),)))
    ElementTree.fromstring(picture)
    assert "<script" not in picture
    assert "<img" not in picture
    assert season_picture(plan, back) == season_picture(plan, back)


def replace_lot(plan: Plan, name: str) -> Plan:
    """A plan with lot `a` under another name."""
    return plan._replace(tasks=tuple(replace(task, lot=name) if task.lot == "a" else task for task in plan.tasks))


def test_a_plan_without_tasks_is_still_a_picture() -> None:
    """The heads of its days and months."""
    for width in WIDTHS:
        sound(season_picture(written(), Behind(), width), width)


def test_a_file_of_its_own_carries_its_colours() -> None:
    """For whoever sends it on."""
    root = ElementTree.fromstring(season_file(*example("wattle_gully/creek-2")))
    assert "".join(next(root.iter(f"{SVG}style")).itertext()) == COLOURS
    assert root.get("role") == "img"
    assert next(one.tag for one in root) in (f"{SVG}style", f"{SVG}title")


@pytest.mark.system
@pytest.mark.parametrize("width", WIDTHS)
def test_in_a_browser_no_words_lie_on_words(width: int, tmp_path: Path) -> None:
    """The rectangles that a browser gives each text, with the fonts of this machine; those of neighbours may touch."""
    measure = (
        "const r=[...document.querySelectorAll('text')].map(t=>{const b=t.getBoundingClientRect();return [t.textContent,b.left,b.top,b.right,b.bottom]});"
        "document.body.replaceChildren(Object.assign(document.createElement('pre'),{textContent:JSON.stringify(r)}))"
    )
    for name in MOMENTS:
        page = tmp_path / f"{width}.html"
        picture = season_picture(*example(name), width)
        page.write_text(f"<!doctype html><meta charset=utf-8><style>{COLOURS}</style><body>{picture}<script>{measure}</script></body>", encoding="utf-8")
        program = shutil.which("chromium")
        assert program, "chromium is among the programs of the system tests"
        options = ["--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}", "--virtual-time-budget=2000", "--dump-dom"]
        told = subprocess.run([program, *options, page.as_uri()], capture_output=True, text=True, encoding="utf-8", timeout=120, check=True).stdout
        [text] = re.findall(r"<pre>(.*)</pre>", told, re.DOTALL)
        rects: list[Any] = json.loads(text.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"))
        assert len(rects) > 20
        on = [(a[0], b[0]) for a, b in combinations(rects, 2) if a[1] + 1 < b[3] and b[1] + 1 < a[3] and a[2] + 3 < b[4] and b[2] + 3 < a[4]]
        assert on == [], name
