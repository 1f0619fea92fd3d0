"""An independent solution of conduction in a brick: explicit finite volumes on one octant. Shares no code with the series."""

from __future__ import annotations

import numpy as np


def seconds_to(size: tuple[float, float, float], surface: float, goal: float, *, k: float = 0.28, capacity: float = 1390.0 * 2500.0, cells: int = 14) -> float:
    """Seconds until the innermost cell has `goal` of its first temperature difference left, all six faces in the air; corrected to the centre."""
    steps = [side / 2 / cells for side in size]
    theta = np.ones((cells, cells, cells))
    interval = 0.4 * capacity / k / (2 * sum(1 / step**2 for step in steps))
    elapsed, before = 0.0, 1.0
    while True:
        rate = np.zeros_like(theta)
        for axis, step in enumerate(steps):
            flux = np.diff(theta, axis=axis) * k / step
            inner = np.zeros_like(theta)
            lead, trail = [slice(None)] * 3, [slice(None)] * 3
            lead[axis], trail[axis] = slice(None, -1), slice(1, None)
            inner[tuple(lead)] += flux
            inner[tuple(trail)] -= flux
            face = [slice(None)] * 3
            face[axis] = slice(-1, None)
            inner[tuple(face)] -= theta[tuple(face)] / (1 / surface + step / 2 / k)
            rate += inner / step
        theta = theta + interval * rate / capacity
        elapsed += interval
        middle = float(theta[0, 0, 0]) + sum(float(theta[0, 0, 0] - theta[tuple(1 if a == axis else 0 for a in range(3))]) / 8 for axis in range(3))
        if middle <= goal:
            return elapsed - interval * (goal - middle) / (before - middle)
        before = middle


def cylinder_seconds_to(width: float, surface: float, goal: float, *, k: float, capacity: float, ends: int, cells: int = 24) -> float:
    """The same for a cylinder as wide as high with heat through its wall and so many of its two ends: rings by layers, the slowest cell of all."""
    step, layers = width / 2 / cells, 2 * cells
    inner, outer = np.arange(cells) * step, (np.arange(cells) + 1) * step
    volume = np.pi * (outer**2 - inner**2) * step
    disc = np.pi * (outer**2 - inner**2)
    theta = np.ones((cells, layers))
    interval, elapsed, before = 0.1 * capacity * step**2 / k, 0.0, 1.0
    to_air = 1 / (1 / surface + step / 2 / k)
    while True:
        heat = np.zeros_like(theta)
        across = np.diff(theta, axis=0) * k / step * (2 * np.pi * outer[:-1] * step)[:, None]
        heat[:-1] += across
        heat[1:] -= across
        along = np.diff(theta, axis=1) * k / step * disc[:, None]
        heat[:, :-1] += along
        heat[:, 1:] -= along
        heat[-1] -= theta[-1] * to_air * 2 * np.pi * outer[-1] * step
        for layer in (-1, 0)[:ends]:
            heat[:, layer] -= theta[:, layer] * to_air * disc
        theta = theta + interval * heat / (capacity * volume)[:, None]
        elapsed += interval
        slowest = float(theta.max())
        if slowest <= goal:
            return elapsed - interval * (goal - slowest) / (before - slowest)
        before = slowest
