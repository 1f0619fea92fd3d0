"""A small client of a language server, over its protocol: what an editor would ask of a file and show of it."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self


class LanguageServer:
    """One server on its standard streams, for the files of one folder; used as a context."""

    def __init__(self, words: Sequence[str], folder: Path) -> None:
        self.folder, self.number = folder, 0
        self.told: dict[str, list[dict[str, Any]]] = {}  # the newest diagnostics by address
        self.process = subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=folder)

    def __enter__(self) -> Self:
        self.asks("initialize", {"processId": None, "rootUri": self.folder.as_uri(), "capabilities": {"workspace": {"configuration": True}}})
        self._sends({"method": "initialized", "params": {}})
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.process.kill()
        self.process.communicate()

    def opens(self, path: Path, text: str) -> list[dict[str, Any]]:
        """The diagnostics of a file with this text in it."""
        address = path.as_uri()
        self.told.pop(address, None)
        item = {"uri": address, "languageId": "yaml", "version": 1, "text": text}
        self._sends({"method": "textDocument/didOpen", "params": {"textDocument": item}})
        while address not in self.told:
            self._takes(self._reads())
        return self.told[address]

    def asks(self, method: str, params: dict[str, Any]) -> Any:
        """The answer to a request."""
        self.number += 1
        self._sends({"id": self.number, "method": method, "params": params})
        while True:
            message = self._reads()
            if message.get("id") == self.number and "method" not in message:
                return message.get("result")
            self._takes(message)

    def at(self, method: str, path: Path, line: int, character: int) -> Any:
        """The answer to a request about a place, counted from 0."""
        return self.asks(f"textDocument/{method}", {"textDocument": {"uri": path.as_uri()}, "position": {"line": line, "character": character}})

    def _takes(self, message: dict[str, Any]) -> None:
        if message.get("method") == "textDocument/publishDiagnostics":
            self.told[message["params"]["uri"]] = message["params"]["diagnostics"]
        elif "id" in message and "method" in message:  # a question of the server's own: no setting is otherwise than usual
            asked = message["params"].get("items", []) if message["method"] == "workspace/configuration" else []
            self._sends({"id": message["id"], "result": [{} for _ in asked] or None})

    def _sends(self, message: dict[str, Any]) -> None:
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        assert self.process.stdin is not None
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self.process.stdin.flush()

    def _reads(self) -> dict[str, Any]:
        assert self.process.stdout is not None
        length = 0
        while line := self.process.stdout.readline().strip():
            name, _, value = line.partition(b":")
            length = int(value) if name.lower() == b"content-length" else length
        assert length, "the server is gone"
        message: dict[str, Any] = json.loads(self.process.stdout.read(length))
        return message
