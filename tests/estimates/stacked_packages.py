"""An independent solution of a stack of packages: finite volumes in each piece, its package's walls between them, and a freezer of limited power.

Explicit in time; shares no code with the series, and nothing of the stack is averaged into one body.
"""

from __future__ import annotations

import math

import numpy as np

from scheduler.estimates.comb import Package

CELLS = 4  # along each side of a piece


def seconds_to(
    counts: tuple[int, int, int],
    size: tuple[float, float, float],
    package: Package,
    surface: float,
    temperatures: tuple[float, float, float],
    *,
    power: float = math.inf,
    k: float = 0.28,
    capacity: float = 1390.0 * 2500.0,
) -> float:
    """Seconds until the warmest cell of a stack has cooled from the first to the last of `temperatures` [°C]; the second is the freezer's air.

    Air is as cold as `power` [W] keeps it.
    """
    start, air, target = temperatures
    steps = [side / CELLS for side in size]
    pitch = [side + package.allowance for side in size]
    volume = math.prod(steps)
    conductances = []  # between neighbours along each axis [W/K]
    for axis, (step, number) in enumerate(zip(steps, counts, strict=True)):
        inner = k * volume / step**2
        wall = math.prod(pitch) / pitch[axis] / CELLS**2
        between = 1 / (step / (k * volume / step) + 2 * package.resistance / wall)
        line = np.full(number * CELLS - 1, inner)
        line[CELLS - 1 :: CELLS] = between
        shape = [1, 1, 1]
        shape[axis] = -1
        outer = 1 / (step / 2 / (k * volume / step) + (package.resistance + 1 / surface) / wall)
        conductances.append((line.reshape(shape), outer))
    field = np.full([number * CELLS for number in counts], float(start))
    heat = volume * capacity
    interval = 0.4 * heat / sum(2 * max(float(line.max(initial=0.0)), outer) for line, outer in conductances)
    elapsed, before = 0.0, start
    while True:
        flow = np.zeros_like(field)
        faces = []
        for axis, (line, outer) in enumerate(conductances):
            moved = np.diff(field, axis=axis) * line
            for where, sign in ((slice(None, -1), 1), (slice(1, None), -1)):
                at = [slice(None)] * 3
                at[axis] = where
                flow[tuple(at)] += sign * moved
            for end in (slice(0, 1), slice(-1, None)):
                at = [slice(None)] * 3
                at[axis] = end
                faces.append((tuple(at), outer))
        total = sum(outer * field[at].size for at, outer in faces)
        given = sum(outer * float(field[at].sum()) for at, outer in faces)
        around = max(air, (given - power) / total)
        for at, outer in faces:
            flow[at] -= outer * (field[at] - around)
        field = field + interval * flow / heat
        elapsed += interval
        warmest = float(field.max())
        if warmest <= target:
            return elapsed - interval * (target - warmest) / (before - warmest)
        before = warmest
