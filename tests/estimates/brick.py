"""An independent solution of conduction in a brick under air that changes: finite volumes and Crank-Nicolson by scipy. Shares no code with the series."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.sparse import csc_matrix, diags, eye, kron
from scipy.sparse.linalg import splu


def _axis(side: float, conductance: float, k: float, cells: int) -> tuple[csc_matrix, np.ndarray]:
    """Half of one axis, the middle first: exchange between neighbours and with the air [1/m² times W/mK]."""
    step = side / 2 / cells
    inner = np.full(cells - 1, k / step**2)
    outer = np.zeros(cells)
    outer[-1] = 1 / (1 / conductance + step / 2 / k) / step
    main = -(np.append(inner, 0) + np.insert(inner, 0, 0) + outer)
    return diags([inner, main, inner], [-1, 0, 1]).tocsc(), outer


def core(
    size: tuple[float, float, float],
    conductance: float,
    start: float,
    air: Sequence[float],
    seconds: int,
    *,
    k: float = 0.28,
    capacity: float = 1390.0 * 2500.0,
) -> list[float]:
    """Temperature of the innermost cell [°C] after each stretch of `seconds` in the air [°C]."""
    cells, steps = 10, 10
    axes = [_axis(side, conductance, k, cells) for side in size]
    one = eye(cells)
    exchange = kron(kron(axes[0][0], one), one) + kron(kron(one, axes[1][0]), one) + kron(kron(one, one), axes[2][0])
    ones = np.ones(cells)
    outer = np.kron(np.kron(axes[0][1], ones), ones) + np.kron(np.kron(ones, axes[1][1]), ones) + np.kron(np.kron(ones, ones), axes[2][1])
    interval = seconds / steps
    forward = (eye(cells**3) + exchange * (interval / 2 / capacity)).tocsc()
    backward = splu((eye(cells**3) - exchange * (interval / 2 / capacity)).tocsc())
    temperature = np.full(cells**3, start)
    found = []
    for value in air:
        for _ in range(steps):
            temperature = backward.solve(forward @ temperature + outer * value * (interval / capacity))
        found.append(float(temperature[0]))
    return found
