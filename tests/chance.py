"""How often a test of chance tries, and with which seed.

An issue says how often in full; the default run tries a twentieth of that. AFTERPULL_LONG=1 (`bash .ci/run --long`) tries them all. Each run has
another seed, which it prints; AFTERPULL_SEED=... tries the same again.
"""

from __future__ import annotations

import os
import secrets
from random import Random

LONG = os.environ.get("AFTERPULL_LONG") == "1"
SEED = int(os.environ.setdefault("AFTERPULL_SEED", str(secrets.randbelow(10**9))))  # kept there for the processes that share a run's tests
SHARE = 20  # a default run tries one in so many


def times(full: int) -> int:
    """How often to try what is tried `full` times in a long run; once at least."""
    return full if LONG else max(1, full // SHARE)


def random_of(name: object) -> Random:
    """This run's chance for one test, the same whichever other tests run."""
    return Random(f"{SEED} {name}")
