"""A lot: what was pulled together and is treated alike."""

import re
from typing import Annotated, Any

from pydantic import BeforeValidator

from scheduler.diagnostics import Fault
from scheduler.documents import Record
from scheduler.facts.written import Id, YesNo, between, one_of, whole
from scheduler.quantities import parse

KINDS = ("cut comb", "chunk honey", "extracted", "dry comb")
FRAMES = ("shallow", "medium", "deep")
PACKAGES = ("none", "film", "clamshell", "carton")
HONEY_DENSITY = 1421.0  # kg/m³ at 17 % water and 20 °C; from memory
SIZE_SAMPLE = '"102 x 51 mm" or "4 x 2 in"'
SHORTEST_SIDE, LONGEST_SIDE = 0.01, 0.5  # of a piece cut from a frame [m]; a frame is 0.48 m long (common practice)
_NUMBER = r"\d+(?:\.\d+)?(?:\s+\d+/\d+)?|\d+/\d+"
_SIZE = re.compile(rf"(?P<one>{_NUMBER})\s*(?P<first>[a-zµ]*)\s*(?:x|×|by)\s*(?P<two>{_NUMBER})\s*(?P<unit>[a-zµ]+)")


def read_size(value: Any) -> tuple[float, float]:
    """Length and width [m] of a piece, the longer side first, from "102 x 51 mm" or "4 x 2 in"."""
    match = _SIZE.fullmatch(str(value).strip())
    if not match:
        raise Fault(f'"{value}" is not the size of a piece', SIZE_SAMPLE)
    sides = (parse(f"{match['one']} {match['first'] or match['unit']}", "length"), parse(f"{match['two']} {match['unit']}", "length"))
    if min(sides) < SHORTEST_SIDE or max(sides) > LONGEST_SIDE:
        raise Fault(f'"{value}" can not be cut from a frame', f"sides from 10 mm to 500 mm, such as {SIZE_SAMPLE}")
    return max(sides), min(sides)


def read_jar(value: Any) -> float:
    """The volume of a jar [m³], from "370 mL" or from the honey it takes, "500 g"."""
    text = str(value)
    try:
        volume = parse(text, "volume")
    except Fault:
        try:
            volume = parse(text, "mass") / HONEY_DENSITY
        except Fault:
            raise Fault(f'"{text}" is not the size of a jar', '"500 g" or "1 lb" of honey, or "370 mL"') from None
    if not 1e-5 <= volume <= 0.03:
        raise Fault(f'"{text}" is not the size of a jar', "10 mL to 30 L")
    return volume


def read_yeast(value: Any) -> float:
    """A yeast count per gram, bare or as "1000 per g"."""
    text = re.sub(r"\s*(?:per g|/g)$", "", str(value).strip())
    if not re.fullmatch(r"\d+(?:\.\d+)?(?:e\d+)?", text):
        raise Fault(f'"{value}" is not a yeast count', '"1000 per g"')
    return float(text)


class Lot(Record):
    """What the harvest file tells of a lot, in SI. Defaults are common practice (piece, thickness) or assumed (capped, jar, package)."""

    id: Id
    kind: Annotated[str, one_of(*KINDS)]
    frames: Annotated[int, whole("frames", 10_000)]
    frame: Annotated[str, one_of(*FRAMES)]
    boxes: Annotated[int | None, whole("boxes", 1_000)] = None
    comb_thickness: Annotated[float, between("length", "5 mm", "80 mm", " for comb in a frame")] = 0.035
    piece: Annotated[tuple[float, float], BeforeValidator(read_size)] = (0.1016, 0.1016)
    pieces: Annotated[int | None, whole("pieces", 100_000)] = None
    imperfect: Annotated[float, between("share", "0 %", "100 %")] = 0.0
    package: Annotated[str, one_of(*PACKAGES)] = "clamshell"
    jar: Annotated[float, BeforeValidator(read_jar)] = 0.5 / HONEY_DENSITY
    capped: Annotated[float, between("share", "0 %", "100 %")] = 0.9
    moisture: Annotated[float | None, between("share", "13 %", "25 %", " for honey; refractometer tables run from 13 to 25 %")] = None
    yeast: Annotated[float | None, BeforeValidator(read_yeast)] = None  # per gram
    comb_temperature: Annotated[float | None, between("temperature", "-30 °C", "60 °C", " for comb")] = None
    disease: YesNo = False
    treated: YesNo = False
    beetle: YesNo = False
