"""Searches behind the pages: after pages that are asked for, one after the other, and none once they are closed."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable

import pytest

from scheduler.application import page_searches
from scheduler.application.page_searches import Search, Searches


def of(*runs: tuple[str, Callable[[], bool]]) -> Searches:
    """What is sought one after the other, each once."""
    left = [Search(*one) for one in runs]
    return Searches(lambda: left[0]._replace(run=lambda: left.pop(0).run()) if left else None)


def ends(searches: Searches) -> None:
    """Wait for the last of them."""
    if (thread := searches._thread) is not None:
        thread.join(60)


def test_one_is_run_after_the_other_and_what_is_found_is_counted_by_kind(monkeypatch: pytest.MonkeyPatch) -> None:
    """What finds nothing is not counted; once nothing is sought the interpreter is shared as usual."""
    monkeypatch.setattr(page_searches, "QUIET", 0.01)
    usual, meanwhile = sys.getswitchinterval(), list[float]()
    searches = of(("cures", lambda: True), ("days", lambda: True), ("days", lambda: False), ("days", lambda: not meanwhile.append(sys.getswitchinterval())))
    searches.go()
    ends(searches)
    assert (searches.found["cures"], searches.found["days"]) == (1, 2)
    assert meanwhile[0] < usual == sys.getswitchinterval()
    searches.go()
    assert searches._thread is None


def test_whoever_presses_one_thing_after_the_other_waits_for_no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    """It begins once no page was asked for a while; closed meanwhile, it never does."""
    monkeypatch.setattr(page_searches, "QUIET", 30.0)
    usual, sought = sys.getswitchinterval(), list[int]()
    searches = of(("days", lambda: not sought.append(1)))
    for _ in range(5):
        searches.go()
        time.sleep(0.01)
    assert searches._thread is not None
    searches.close()
    assert sought == []
    assert searches._thread is None
    assert sys.getswitchinterval() == usual
    searches.go()
    assert searches._thread is None


def test_closing_waits_for_what_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """What runs sees that it is closed, and gives up."""
    monkeypatch.setattr(page_searches, "QUIET", 0.01)
    begun, over = threading.Event(), list[bool]()

    def run() -> bool:
        begun.set()
        while not searches.closed:
            time.sleep(0.001)
        over.append(True)
        return False

    searches = of(("cures", run), ("cures", lambda: True))
    searches.go()
    assert begun.wait(30)
    searches.close()
    assert over == [True]
    assert not searches.found
