"""Renew the goldens: `python -m tests.golden --write`; without it, say which differ (status 1). Look at the difference before it is committed."""

from __future__ import annotations

import sys

from tests.golden.examples import MOMENTS, made, path


def main(arguments: list[str]) -> int:
    """Compare, or write. Returns the exit status."""
    differing = 0
    for example in MOMENTS:
        for name, content in made(example).items():
            golden = path(example, name)
            if golden.is_file() and golden.read_bytes() == content:
                continue
            differing += 1
            sys.stdout.write(f"{golden.parent.name}/{golden.name} differs\n")
            if "--write" in arguments:
                golden.parent.mkdir(exist_ok=True)
                golden.write_bytes(content)
    return 1 if differing and "--write" not in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
