"""Net weight for a label in both units, never more than what is inside."""

from __future__ import annotations

from decimal import ROUND_DOWN, ROUND_HALF_EVEN, Decimal

from scheduler.diagnostics import Fault

OUNCE = Decimal("28.349523125")  # g, exact
KINDS = ("down", "nearest")


def _ounces(grams: Decimal) -> Decimal:
    return (grams / OUNCE).quantize(Decimal("0.1"), ROUND_DOWN)


def net_weight(mass: float, rounding: str = "down", first: str = "us") -> str:
    """ "8 oz (226 g)" for a mass [kg]: tenths of an ounce and whole grams, "us" or "metric" unit first.

    "down" rounds both down. "nearest" takes the nearest gram and tenth where that does not overstate, else the one below: of a dual
    declaration the larger number is the one that is checked. Raises `Fault` for less than 1 g or an unknown rule.
    """
    if rounding not in KINDS:
        raise Fault(f'"{rounding}" is not a rule of rounding known here', "down or nearest")
    grams = Decimal(repr(mass)) * 1000
    if not grams.is_finite() or grams < 1 or grams > 50_000:
        raise Fault("a net weight is 1 g to 50 kg", '"8 oz"')
    whole, ounces = grams.quantize(Decimal(1), ROUND_DOWN), _ounces(grams)
    if rounding == "nearest":
        near, near_ounces = grams.quantize(Decimal(1), ROUND_HALF_EVEN), (grams / OUNCE).quantize(Decimal("0.1"), ROUND_HALF_EVEN)
        whole, ounces = near if near <= grams else whole, near_ounces if near_ounces * OUNCE <= grams else ounces
    metric, us = f"{whole} g", _us(ounces)
    return f"{us} ({metric})" if first == "us" else f"{metric} ({us})"


def _us(ounces: Decimal) -> str:
    pounds, rest = divmod(ounces, 16)
    number = f"{rest:f}".rstrip("0").rstrip(".")
    if not pounds:
        return f"{number} oz"
    return f"{pounds:.0f} lb {number} oz" if rest else f"{pounds:.0f} lb"
