"""README.md shows what the program prints. `python -m tests.test_readme --write` renews the blocks."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"<!-- output: (?P<of>.*?) -->\n```text\n(?P<text>.*?)```", re.DOTALL)
LINES = 44  # of the plan: the first evenings


def _run(words: list[str]) -> str:
    return subprocess.run([sys.executable, "-m", "scheduler", *words], cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=True).stdout


def _printed(of: str, readme: str) -> str:
    """What a block should say: the first lines of the plan command, or all that another command prints."""
    if of == "plan":
        (command,) = re.findall(r"/bin/afterpull (plan .*?) --calendar", readme)
        return "\n".join(_run(shlex.split(command)).splitlines()[:LINES]) + "\n"
    return _run(shlex.split(of.removeprefix("afterpull ")))


def renewed(readme: str) -> str:
    """The page with every block as the program prints it now."""
    return BLOCK.sub(lambda found: f"<!-- output: {found['of']} -->\n```text\n{_printed(found['of'], readme)}```", readme)


def test_the_readme_shows_what_the_program_prints() -> None:
    """A newcomer who types the command sees what the page showed."""
    readme = README.read_text(encoding="utf-8")
    assert len(BLOCK.findall(readme)) == 2
    assert renewed(readme) == readme


if __name__ == "__main__" and "--write" in sys.argv:
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
