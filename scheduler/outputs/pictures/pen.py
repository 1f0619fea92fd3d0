"""SVG elements as text: everything a person wrote is escaped here, and numbers are short."""

from __future__ import annotations

from html import escape

USUAL = 13.0  # px: the size of words that says none
CHARACTER = 0.56  # of its size: how wide a letter of a sans-serif font is, about; words are laid out by this, so that no script has to measure them


def number(value: float) -> str:
    """A length in pixels with one decimal at most."""
    return f"{value:.1f}".removesuffix(".0")


def wide(words: str, size: float) -> float:
    """About how many pixels words take at a size of font."""
    return len(words) * size * CHARACTER


def text(x: float, y: float, words: str, *, size: float = USUAL, anchor: str = "start", look: str = "") -> str:
    """Words at a point; `anchor` is "start", "middle" or "end" (SVG 1.1 section 10.9.1)."""
    of_size = f' font-size="{number(size)}"' if size != USUAL else ""
    at = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return f'<text x="{number(x)}" y="{number(y)}"{of_size}{at}{_of(look)}>{escape(words)}</text>'


def rect(x: float, y: float, width: float, height: float, look: str, *, round_by: float = 0) -> str:
    """A rectangle; never narrower than a pixel."""
    corner = f' rx="{number(round_by)}"' if round_by else ""
    return f'<rect x="{number(x)}" y="{number(y)}" width="{number(max(width, 1))}" height="{number(height)}"{corner}{_of(look)}/>'


def line(x1: float, y1: float, x2: float, y2: float, look: str) -> str:
    """A straight line."""
    return f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}"{_of(look)}/>'


def tag(x: float, y: float, half: float, deep: float, look: str) -> str:
    """A tag about a line at `x`, its point down: twice `half` wide, `deep` from its top at `y`."""
    straight, point = number(deep * 0.7), number(deep * 0.3)
    return f'<path d="M{number(x - half)} {number(y)}h{number(2 * half)}v{straight}l-{number(half)} {point}l-{number(half)}-{point}z"{_of(look)}/>'


def _of(look: str) -> str:
    return f' class="{look}"' if look else ""
