"""Two real CalDAV servers on loopback, and an independent client that edits what we put there."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

USER, PASSWORD = "keeper", "a comb in the hand"
CLIENT = Path(__file__).with_name("other_client.py")


def program(name: str) -> str:
    """A program of the environment that .ci/servers.sh makes."""
    return str(Path(os.environ["AFTERPULL_SERVERS"]) / "bin" / name)


@contextmanager
def running(kind: str, folder: Path) -> Iterator[str]:
    """A server of a kind with an empty store; the address to sync with."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = _radicale(folder, port) if kind == "radicale" else _xandikos(folder, port)
    with (folder / "log").open("wb") as log, subprocess.Popen(words, stdout=log, stderr=log) as process:
        try:
            _await(f"http://127.0.0.1:{port}/", process, folder / "log")
            yield f"http://127.0.0.1:{port}/" + ("keeper/" if kind == "radicale" else "")
        finally:
            process.terminate()
            process.wait(timeout=20)


def _radicale(folder: Path, port: int) -> list[str]:
    (folder / "users").write_text(f"{USER}:{PASSWORD}\n")
    settings = {"server-hosts": f"127.0.0.1:{port}", "storage-filesystem-folder": str(folder / "store"), "auth-type": "htpasswd", "auth-delay": "0"}
    settings |= {"auth-htpasswd-filename": str(folder / "users"), "auth-htpasswd-encryption": "plain"}
    return [program("radicale"), *(f"--{name}={value}" for name, value in settings.items())]


def _xandikos(folder: Path, port: int) -> list[str]:
    store = folder / "store"
    return [program("xandikos"), "serve", "-d", str(store), "-l", "127.0.0.1", "-p", str(port), "--current-user-principal=/keeper/", "--autocreate"]


def _await(url: str, process: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(300):
        assert process.poll() is None, log.read_text()
        try:
            urllib.request.urlopen(url, timeout=2).close()
        except urllib.error.HTTPError as error:
            error.close()
            return
        except OSError:
            time.sleep(0.1)
            continue
        return
    raise AssertionError(log.read_text())


def other_client(url: str, *words: str) -> dict[str, dict[str, str]]:
    """What the independent client sees after doing what it is told: by UID, the properties of each entry of every calendar."""
    done = subprocess.run([program("python"), str(CLIENT), url, USER, PASSWORD, *words], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    found: dict[str, dict[str, str]] = json.loads(done.stdout)
    return found
