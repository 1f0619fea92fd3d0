"""Pieces from a frame, their mass, the room their packages take, the jars they fill, and the net weight on a label."""

from __future__ import annotations

import math
from decimal import ROUND_DOWN, ROUND_UP, Decimal

from scheduler.diagnostics import Fault
from scheduler.estimates import citations, comb, honey
from scheduler.quantities import Estimate, Quantity, say

INCH = 0.0254


def _fit(along: float, across: float, length: float, width: float) -> int:
    return math.floor(along / length + 1e-9) * math.floor(across / width + 1e-9)


def pieces_per_frame(frame: str, sides: tuple[float, float], piece_length: float, piece_width: float) -> Estimate:
    """Whole pieces [count] cut from one comb, all lying the same way, the better of the two ways; sizes in m, `sides` of the comb.

    The frame's depth is that of its comb, not of the box. Low end: a finger's width lost along each edge.
    """
    along, across = sides
    if not (0.01 <= piece_width <= 0.5 and 0.01 <= piece_length <= 0.5):
        raise Fault("a piece is 1 cm to 50 cm on each side", '"4 x 2 in"')
    value = max(_fit(along, across, piece_length, piece_width), _fit(along, across, piece_width, piece_length))
    trimmed = (max(0.0, along - INCH / 2), max(0.0, across - INCH / 2))
    low = max(_fit(*trimmed, piece_length, piece_width), _fit(*trimmed, piece_width, piece_length))
    length, width = Quantity(piece_length, "length"), Quantity(piece_width, "length")
    basis = (say("pieces of a comb", along=round(along / INCH, 4), across=round(across / INCH, 4), frame=frame, length=length, width=width),)
    return Estimate(value, low, value, "count", basis, (citations.FRAME,), safe_end="value")


def piece_mass(length: float, width: float, thickness: float, fill: float = 1.0) -> float:
    """Mass [kg] of a cut piece, sides in m; `fill` is the share of cells that are full. 4 x 2 x 1.25 in is 228 g; common practice says 8 oz."""
    if not 0 <= fill <= 1:
        raise Fault(f"a fill of {fill * 100:g} % is outside 0 to 100 %", '"95 %"')
    comb.check_size((length, width, thickness))
    return comb.DENSITY * length * width * thickness * fill


def package_volume(length: float, width: float, thickness: float, package: comb.Package) -> float:
    """Space [m³] one packed piece takes in the freezer: the piece and what its package adds to each side."""
    added = package.allowance
    return (length + added) * (width + added) * (thickness + added)


def jars_needed(mass: float, jar_volume: float, moisture: float = 0.17) -> int:
    """Jars of `jar_volume` [m³] that `mass` [kg] of honey needs; the last may not be full."""
    if jar_volume <= 0 or mass < 0:
        raise Fault("a jar has a volume above 0 and a lot a mass of 0 or more", '"350 mL"')
    return math.ceil(mass / (jar_volume * honey.density(moisture)) - 1e-9)


def chunk_jars(comb_mass: float, jar_volume: float, comb_share: float, moisture: float = 0.17) -> tuple[int, float]:
    """Jars of a chunk pack and the liquid honey [kg] to fill them, for `comb_mass` [kg] of pieces and a least `comb_share` of the volume.

    Jars are as many as keep the comb at its share or above (so rounded down, but at least one where there is any comb).
    """
    if jar_volume <= 0 or comb_mass < 0 or not 0 < comb_share <= 1:
        raise Fault("a chunk pack needs a jar above 0, comb of 0 or more and a share of comb up to 100 %", '"60 %"')
    volume = comb_mass / comb.DENSITY
    jars = math.floor(volume / (jar_volume * comb_share) + 1e-9) or (1 if comb_mass > 0 else 0)
    return jars, max(0.0, jars * jar_volume - volume) * honey.density(moisture)


OUNCE = Decimal("28.349523125")  # g, exact
TOLERABLE = (  # to so many g of label (the last counted): so many g short, or a share of the label
    (50, None, Decimal("0.09")), (100, Decimal("4.5"), None), (200, None, Decimal("0.045")), (300, Decimal(9), None),
    (500, None, Decimal("0.03")), (1_000, Decimal(15), None), (10_000, None, Decimal("0.015")),
)  # fmt: skip


def _grams(mass: float) -> Decimal:
    grams = Decimal(repr(mass)) * 1000
    if not grams.is_finite() or grams < 1 or grams > 50_000:
        raise Fault("a net weight is 1 g to 50 kg", '"8 oz"')
    return grams


def net_weight(mass: float, first: str = "us") -> str:
    """ "8 oz (226 g)" for a mass [kg] as weighed, "us" or "metric" unit first; kilograms from 1000 g up.

    Whole grams and tenths of an ounce (hundredths under one ounce), both rounded down: of a dual declaration the larger number is the one
    that is checked, and neither may overstate. Raises `Fault` for less than 1 g.
    """
    grams = _grams(mass)
    whole = grams.quantize(Decimal(1), ROUND_DOWN)
    metric = f"{whole} g" if whole < 1000 else f"{_plain(whole / 1000)} kg"
    us = _us(grams / OUNCE)
    return f"{us} ({metric})" if first == "us" else f"{metric} ({us})"


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"


def _us(ounces: Decimal) -> str:
    ounces = ounces.quantize(Decimal("0.1") if ounces >= 1 else Decimal("0.01"), ROUND_DOWN)
    pounds, rest = divmod(ounces, 16)
    if not pounds:
        return f"{_plain(rest)} oz"
    return f"{pounds:.0f} lb {_plain(rest)} oz" if rest else f"{pounds:.0f} lb"


def tolerable_shortfall(label: float) -> float | None:
    """How much less than its label [kg] a package of one constant weight may hold [kg], by the average system of Great Britain and the EU.

    Published: Directive 76/211/EEC, annex I 2.4; a percentage is rounded up to 0.1 g. None below 5 g and above 10 kg, where the table ends.
    """
    grams = _grams(label)
    if not 5 <= grams <= TOLERABLE[-1][0]:
        return None
    fixed, share = next((fixed, share) for most, fixed, share in TOLERABLE if grams <= most)
    short = fixed if fixed is not None else (grams * (share or 0)).quantize(Decimal("0.1"), ROUND_UP)
    return float(short / 1000)
