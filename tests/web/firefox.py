"""The Firefox of this machine for tests marked `system`, by the protocol that it serves itself (WebDriver BiDi, W3C): no driver stands between."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from websockets.sync.client import ClientConnection, connect

PATIENCE = 60.0  # s for a busy machine


class Firefox:
    """One tab, and what it complained of: errors of scripts and of the policy, warnings of the console."""

    def __init__(self, connection: ClientConnection) -> None:
        self._connection, self._asked, self.complaints = connection, 0, list[str]()
        self.ask("session.new", capabilities={})
        self.ask("session.subscribe", events=["log.entryAdded"])
        self._tab = self.ask("browsingContext.getTree")["contexts"][0]["context"]

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """Give a command; what it answers. A command that fails is a fault of the test."""
        self._asked += 1
        self._connection.send(json.dumps({"id": self._asked, "method": method, "params": params}))
        while True:
            heard = json.loads(self._connection.recv(PATIENCE))
            if heard.get("method") == "log.entryAdded" and heard["params"]["level"] in ("warn", "error"):
                self.complaints.append(str(heard["params"]["text"]))
            elif heard.get("id") == self._asked:
                assert heard["type"] == "success", heard
                found: dict[str, Any] = heard["result"]
                return found

    def opens(self, address: str) -> None:
        """Load a page, to its end."""
        self.ask("browsingContext.navigate", context=self._tab, url=address, wait="complete")

    def says(self, expression: str) -> Any:
        """What an expression of the page is: words, a number, yes or no."""
        found = self.ask("script.evaluate", expression=expression, target={"context": self._tab}, awaitPromise=True)
        assert found["type"] == "success", found
        return found["result"].get("value")

    def waits_for(self, expression: str) -> None:
        """Until an expression of the page is true."""
        ends = time.monotonic() + PATIENCE
        while not self.says(expression):
            assert time.monotonic() < ends, f"{expression}: {self.says('document.body.innerText')}"
            time.sleep(0.1)

    def clicks(self, selector: str) -> None:
        """Press the first element of a selector, as a mouse does; it is brought into sight first."""
        self.says(f"document.querySelector({json.dumps(selector)}).scrollIntoView({{block: 'center'}})")
        [node] = self.ask("browsingContext.locateNodes", context=self._tab, locator={"type": "css", "value": selector}, maxNodeCount=1)["nodes"]
        origin = {"type": "element", "element": {"sharedId": node["sharedId"]}}
        moves = [{"type": "pointerMove", "x": 0, "y": 0, "origin": origin}, {"type": "pointerDown", "button": 0}, {"type": "pointerUp", "button": 0}]
        self.ask("input.performActions", context=self._tab, actions=[{"type": "pointer", "id": "mouse", "actions": moves}])


@contextmanager
def firefox(folder: Path) -> Iterator[Firefox]:
    """A Firefox without a window, with a profile of its own in a folder; at its end it has complained of nothing."""
    program = shutil.which("firefox-esr") or shutil.which("firefox")
    assert program, "firefox is among the programs of the system tests"
    words = [program, "--headless", "--no-remote", "--profile", str(folder), "--remote-debugging-port", "0", "about:blank"]
    with subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, env={"HOME": str(folder), "PATH": "/usr/bin:/bin"}) as process:
        try:
            assert process.stderr is not None
            address = next(found[0] for line in process.stderr if (found := re.search(r"ws://\S+", line)))
            with connect(f"{address}/session", max_size=None, open_timeout=PATIENCE) as connection:
                launched = Firefox(connection)
                yield launched
                launched.ask("browser.close")
            assert not launched.complaints, launched.complaints
        finally:
            process.kill()
