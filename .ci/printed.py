"""Print the command that README.md marks with `<!-- run: NAME -->`: the fenced block that follows the mark, as it stands."""

from __future__ import annotations

import re
import sys
from pathlib import Path


def printed(readme: str, name: str) -> str:
    """The text of the one block marked `name`. Raises `SystemExit` where there is none, or more than one."""
    blocks = re.findall(rf"<!-- run: {re.escape(name)} -->\s*\n```[a-z]*\n(.*?)^```", readme, re.DOTALL | re.MULTILINE)
    if len(blocks) != 1:
        raise SystemExit(f'README.md has {len(blocks)} blocks marked "<!-- run: {name} -->"; exactly one is needed')
    return str(blocks[0])


if __name__ == "__main__":
    sys.stdout.write(printed(Path("README.md").read_text(encoding="utf-8"), sys.argv[1]))
