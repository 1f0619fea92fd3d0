"""Warnings of one cause are one line with a count, what loses most first."""

from __future__ import annotations

from scheduler.outputs.text.table import plan_text
from scheduler.outputs.text.warning_lines import first_lines, warning_lines
from scheduler.planning.plan import Plan, Warning
from scheduler.quantities import Statement, elapsed, instant, say
from tests.outputs.plans import HOUR, at, plan, task

START = at("2026-08-11 18:20")


def _late(name: str, hours: int, cure: Statement | None = None) -> Warning:
    limit, late = instant(START), elapsed(hours * HOUR)
    says = say("late", title=name, limit=limit, finish=instant(START + hours * HOUR), late=late, cure=cure or say("no cure"))
    return Warning("due date missed", f"ridge-2/a/{name}", says)


def _six_harvests() -> Plan:
    """Seventy-two late tasks of six harvests, as a keeper has them who was away for a month."""
    tasks, warnings = [], []
    for harvest in range(6):
        for number in range(12):
            name = f"step-{harvest}-{number}"
            loss = ("crop", "comfort")[number % 2]
            tasks.append(task(name, START + (number + 1) * HOUR, loss=loss))
            warnings.append(_late(name, number + 1, say("due before the plan") if harvest % 2 else None))
    return plan(*tasks, warnings=tuple(warnings))


def test_six_late_harvests_are_a_dozen_lines() -> None:
    """Not seventy-two: the worst in full, three more by name, the rest counted."""
    text = plan_text(_six_harvests())
    lines = text[text.index("WARNINGS (72)") :].split("\n\n")[0].splitlines()
    assert 1 < len(lines) <= 13
    assert "And 35 more: " in text
    assert "and 32 more." in text


def test_the_worst_of_what_loses_most_is_said_in_full() -> None:
    """A crop that is two hours late before comfort that is a week late."""
    tasks = (task("label", START, loss="comfort"), task("cut", START, loss="crop"), task("spin", START, loss="crop"))
    found = warning_lines(plan(*tasks, warnings=(_late("label", 7 * 24), _late("cut", 1), _late("spin", 2))))
    assert len(found) == 1
    assert found[0].words.startswith("spin")
    assert found[0].tasks == ("ridge-2/a/spin", "ridge-2/a/cut", "ridge-2/a/label")


def test_what_the_whole_plan_asks_stands_first_and_is_never_joined() -> None:
    """A question of the yard, two of them, and a late task."""
    questions = tuple(Warning("unknown mark", None, say("unknown mark", mark=mark, title="Feed")) for mark in ("first frost", "last frost"))
    found = warning_lines(plan(task("cut", START), warnings=(_late("cut", 1), *questions)))
    assert [line.tasks for line in found] == [(), (), ("ridge-2/a/cut",)]


def test_what_is_said_elsewhere_is_left_out_and_the_rest_counted() -> None:
    """The agenda names overdue work in a place of its own, and shows three lines."""
    warnings = (_late("cut", 1), *(Warning("unknown mark", None, say("unknown mark", mark=str(n), title="Feed")) for n in range(5)))
    lines = warning_lines(plan(task("cut", START), warnings=warnings), ["ridge-2/a/cut"])
    assert len(lines) == 5
    assert list(first_lines(lines, 3))[-1] == "2 more kinds of warning: afterpull agenda --all"
    assert len(list(first_lines(lines, None))) == 5
