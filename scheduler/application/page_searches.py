"""What is looked for behind the pages: in one thread, once no page was asked for a while, one thing after the other."""

from __future__ import annotations

import sys
import threading
from collections import Counter
from collections.abc import Callable
from typing import NamedTuple

SWITCHES, GIVES_WAY = 0.005, 0.0002  # s that a thread keeps the interpreter while another waits: as usual (CPython), and while something is sought; assumed
QUIET = 1.0  # s in which no page is asked for before it goes on; assumed


class Search(NamedTuple):
    """A kind of search, and the search itself: whether it found something that pages show."""

    kind: str
    run: Callable[[], bool]


class Searches:
    """Searches for what is `sought`, until nothing is, or it is closed; counts by kind how often something was found."""

    def __init__(self, sought: Callable[[], Search | None]) -> None:
        self.found = Counter[str]()
        self.closed = False
        self._sought = sought
        self._thread: threading.Thread | None = None
        self._asked = threading.Event()  # a page was, since it was looked at last
        self._lock = threading.Lock()

    def go(self) -> None:
        """Search, where something is sought; a page that was asked for goes first."""
        self._asked.set()
        with self._lock:
            if self._thread is None and not self.closed and self._sought() is not None:
                self._thread = threading.Thread(target=self._search, name="behind the pages", daemon=True)
                self._thread.start()

    def close(self) -> None:
        """Nothing is sought any more."""
        self.closed = True
        self._asked.set()
        if (thread := self._thread) is not None:
            thread.join()

    def _search(self) -> None:
        sys.setswitchinterval(GIVES_WAY)  # pages are asked for meanwhile
        while True:
            while self._asked.wait(QUIET) and not self.closed:
                self._asked.clear()
            with self._lock:
                search = None if self.closed else self._sought()
                if search is None:
                    self._thread = None
                    sys.setswitchinterval(SWITCHES)
                    return
            if search.run():
                self.found[search.kind] += 1
