"""README.md shows what the program prints. `python -m tests.test_readme --write` renews the blocks."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

from tests.keeper import Keeper

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"<!-- output: (?P<of>.*?) -->\n```text\n(?P<text>.*?)```", re.DOTALL)
LINES = 44  # of the plan: the first evenings
PICTURE = ROOT / "examples" / "kestrel_bank" / "ridge-2.svg"


def _run(words: list[str]) -> str:
    return subprocess.run([sys.executable, "-m", "scheduler", *words], cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=True).stdout


def _printed(of: str, readme: str) -> str:
    """What a block should say: the first lines of the plan command, or all that another command prints."""
    if of == "plan":
        (command,) = re.findall(r"/bin/afterpull (plan .*?) --calendar", readme)
        return "\n".join(_run(shlex.split(command)).splitlines()[:LINES]) + "\n"
    return _run(shlex.split(of.removeprefix("afterpull ")))


def _drawn(readme: str, out: Path) -> bytes:
    """The picture as the command that stands under it makes it."""
    (command,) = re.findall(r"`afterpull (plan [^`]*) --picture ridge-2.svg`", readme)
    _run([*shlex.split(command), "--picture", str(out)])
    return out.read_bytes()


def renewed(readme: str) -> str:
    """The page with every block as the program prints it now."""
    return BLOCK.sub(lambda found: f"<!-- output: {found['of']} -->\n```text\n{_printed(found['of'], readme)}```", readme)


def test_the_readme_shows_what_the_program_prints() -> None:
    """A newcomer who types the command sees what the page showed."""
    readme = README.read_text(encoding="utf-8")
    assert len(BLOCK.findall(readme)) == 2
    assert renewed(readme) == readme


def test_what_was_told_wrongly_is_told_again_as_shown(tmp_path: Path) -> None:
    """The four commands, typed in their order the day after the pieces were cut and set to drain."""
    [block] = re.findall(r"Recorded wrongly.*?```console\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    keeper.waits_until("2026-08-11T20:30").types("done", "a/cut", "--at", "19:30")
    keeper.types("done", "a/drain", "--at", "20:25")
    keeper.waits_until("2026-08-12T18:00")
    said = [keeper.types(*shlex.split(line, comments=True)[1:]) for line in block.splitlines()]
    drain = "ridge-2/a/drain.1"
    for words, line in zip(("begun Tue 11 Aug 20:05", "done Wed 12 Aug 15:10", f"Taken back: task done {drain}", "Withdrawn: ridge-2"), said, strict=True):
        assert words in line
    assert drain in keeper.view.happened.begun


def test_the_picture_is_what_its_command_draws(tmp_path: Path) -> None:
    """Of the invented example."""
    assert _drawn(README.read_text(encoding="utf-8"), tmp_path / "ridge-2.svg") == PICTURE.read_bytes()


if __name__ == "__main__" and "--write" in sys.argv:
    _drawn(README.read_text(encoding="utf-8"), PICTURE)
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
