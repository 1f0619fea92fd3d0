"""Cooling and warming of a slab or a brick: the series solution of transient conduction, one axis at a time.

theta(x*, t) = sum C_n exp(-z_n^2 Fo) cos(z_n x*), z_n tan z_n = Bi, C_n = 4 sin z_n / (2 z_n + sin 2 z_n); a brick is the product
of its axes. Checked against an independent finite-difference solution (tests). The lumped formula is never used for comb: it is
up to 68 % too short for a full box.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

from scheduler.diagnostics import Fault

Term = tuple[float, float]
CLOSEST = 0.5  # K: a target nearer to the air than this is never reached in practice (assumed)
_EARLY = 0.02  # Fourier number below which more than a dozen terms count


class Axis(NamedTuple):
    """One direction of a brick: thickness [m], conductance at its face pair [W/m²K], conductivity along it [W/mK], faces left bare to the air (2, 1 or 0)."""

    thickness: float
    conductance: float
    conductivity: float
    bare_faces: Literal[0, 1, 2] = 2

    @property
    def reach(self) -> float:
        """Distance from the slowest plane to the cooled face [m]: half the thickness, or all of it where one face is insulated."""
        return self.thickness / 2 if self.bare_faces == 2 else self.thickness


class Body(NamedTuple):
    """A homogeneous brick: its axes and its heat capacity by volume [J/m³K]."""

    axes: tuple[Axis, ...]
    capacity: float


def _first_root(biot: float) -> float:
    low, high = 0.0, math.pi / 2
    for _ in range(54):
        middle = (low + high) / 2
        if middle * math.sin(middle) < biot * math.cos(middle):
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _root(biot: float, order: int) -> float:
    if order == 0:
        return _first_root(biot)
    root = order * math.pi + math.atan(biot / (order * math.pi))
    for _ in range(20):  # a contraction by at most 1/6 a turn
        root, before = order * math.pi + math.atan(biot / root), root
        if abs(root - before) < 1e-13 * root:
            break
    return root


@lru_cache(maxsize=512)
def terms(biot: float, count: int = 60) -> tuple[Term, ...]:
    """The first `count` pairs (z_n, C_n) of the slab series for a Biot number above 0."""
    roots = [_root(biot, order) for order in range(count)]
    return tuple((z, 4 * math.sin(z) / (2 * z + math.sin(2 * z))) for z in roots)


def _series(biot: float, fourier: float, place: float) -> tuple[float, float]:
    """theta and its derivative by the Fourier number at the place x* (0 slowest plane, 1 cooled face)."""
    theta = slope = 0.0
    for z, c in terms(biot, 12 if fourier > _EARLY else 60):
        power = z * z * fourier
        if power > 45 and theta:
            break
        part = c * math.exp(-power) * math.cos(z * place)
        theta += part
        slope -= z * z * part
    return theta, slope


def _rates(body: Body) -> list[tuple[float, float]]:
    """Biot number and Fourier number a second for each axis that has a bare face."""
    return [(axis.conductance * axis.reach / axis.conductivity, axis.conductivity / body.capacity / axis.reach**2) for axis in body.axes if axis.bare_faces]


def unaccomplished(body: Body, seconds: float, place: Sequence[float] = ()) -> float:
    """The share of the first temperature difference that is left after `seconds`, at x* on each axis (the slowest point when left out)."""
    if seconds <= 0:
        return 1.0
    product = 1.0
    for number, (biot, rate) in enumerate(_rates(body)):
        product *= _series(biot, rate * seconds, place[number] if place else 0.0)[0]
    return product


@lru_cache(maxsize=8192)  # lots of a yard are much alike: the same pieces, packages and freezers
def time_to(body: Body, share: float, place: tuple[float, ...] = ()) -> float:
    """Seconds until the share of the first temperature difference left at x* has fallen to `share`, 0 < share.

    Errors: none above the round-off of the series (60 terms, 0.11 % against finite volumes); raises `Fault` for a body with no bare face.
    Newton's rule on the logarithm, from the one-term time: the logarithm bends one way only, so it does not overshoot.
    """
    if share >= 1:
        return 0.0
    rates = _rates(body)
    if not rates:
        raise Fault("a body with every face insulated never changes temperature")
    places = place or (0.0,) * len(rates)
    firsts = [terms(biot, 12)[0] for biot, _ in rates]
    decay = sum(z * z * rate for (z, _), (_, rate) in zip(firsts, rates, strict=True))
    start = math.log(math.prod(c * math.cos(z * x) for (z, c), x in zip(firsts, places, strict=True)) / share)
    seconds = max(start, 0.02) / decay
    for _ in range(60):
        logarithm = slope = 0.0
        for (biot, rate), x in zip(rates, places, strict=True):
            theta, change = _series(biot, rate * seconds, x)
            logarithm += math.log(max(theta, 1e-300))
            slope += rate * change / max(theta, 1e-300)
        step = (logarithm - math.log(share)) / slope
        following = seconds - step if seconds > step else seconds / 2
        if abs(following - seconds) <= 1e-9 * seconds:
            return following
        seconds = following
    return seconds


def last_surface_time(body: Body, share: float) -> float:
    """Seconds until every point of the bare surface has reached `share`: the latest of the middles of the faces."""
    count = len(_rates(body))
    return max(time_to(body, share, tuple(1.0 if axis == face else 0.0 for axis in range(count))) for face in range(count))
