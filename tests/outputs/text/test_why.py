"""Why a task is when it is: sentences with their numbers, and each source once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.diagnostics import Fault
from scheduler.outputs.text.why import why_text
from scheduler.planning.plan import Reason
from scheduler.quantities import say
from tests.outputs.plans import HOUR, at, plan, ridge, task


def test_why_gives_reasons_numbers_rules_and_sources() -> None:
    """All that the task carries, warnings among it."""
    text = why_text(ridge(), "ridge-2/a/drain")
    assert "Time to drain: 41 h (36 h to 48 h) at 21 °C and 17.4 % moisture [1]" in text
    assert "[1] assumed film thickness" in " ".join(text.split())
    assert "rule comb_honey.yaml:38 drain" in text
    assert "The freezer holds 18 packages" in why_text(ridge(), "ridge-2/a/freeze")


def test_a_source_that_several_reasons_share_is_given_once() -> None:
    """In full at the end; the reasons carry its number."""
    shared = tuple(Reason(name, say("as written", text=name), "", ("Handbook, table 3", f"{name}'s own")) for name in ("first", "second"))
    text = why_text(plan(task("drain", at("2026-08-11 18:20"), reasons=shared)), "ridge-2/a/drain")
    assert text.count("Handbook, table 3") == 1
    assert "- First [1] [2]" in text
    assert "- Second [1] [3]" in text


def test_why_of_an_unknown_task_names_the_nearest() -> None:
    """A slip of the finger is put right."""
    with pytest.raises(Fault, match='has no task "ridge-2/a/drian"') as refused:
        why_text(ridge(), "ridge-2/a/drian")
    assert refused.value.write.startswith('"ridge-2/a/drain"')


def test_a_hold_that_runs_says_until_when_and_what_has_no_time_says_none() -> None:
    """Begun an hour ago; and one that is not possible."""
    start = at("2026-08-11 18:20")
    runs = replace(task("drain", start, hold=24 * HOUR), hands=())
    assert "Planned from Tue 11 Aug 18:20 to Wed 12 Aug 18:50, its hold until Wed 12 Aug 18:50." in " ".join(
        why_text(plan(runs, as_of=start + HOUR), runs.id).split()
    )
    assert "Not possible as things stand. At stake: crop. Rule: comb honey/drain." in why_text(plan(replace(runs, status="impossible")), runs.id)
