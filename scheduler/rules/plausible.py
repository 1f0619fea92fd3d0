"""What is well formed in a card and cannot be meant: times below nothing, amounts of the wrong kind, temperatures compared with hours."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from contextlib import suppress

from scheduler.diagnostics import Fault, instead
from scheduler.quantities import parse, with_article
from scheduler.rules.amounts import kind_of, parameter_name
from scheduler.rules.card_check import Loc, Marked, marked
from scheduler.rules.cel import Environment, Parameters
from scheduler.rules.expression_dimensions import NUMBER, measured, name_measures
from scheduler.rules.expressions import dimension_of
from scheduler.rules.grammar import in_cel
from scheduler.rules.parameter import Parameter
from scheduler.rules.schema import Card
from scheduler.rules.short_forms import AmountOf, Anchor, TemplateText
from scheduler.rules.spoken_names import worded
from scheduler.rules.templates import conditions_in, placeholders_in, template_parts
from scheduler.rules.vocabulary import NAMES

HELD = ("volume", "count")  # what equipment holds is measured so
SLIP = 0.8  # how like a known kind of equipment another name is, to be taken for a slip of the hand; assumed
HOTTEST = 50.0  # °C that no room, store or comb of honey has; a number above it is one in °F
COLDEST_DAY = -60.0  # °C; assumed, as HOTTEST
LONGEST_WORK = 7 * 86_400.0  # s of hands in one task, which its parts may divide between evenings; assumed
SHORTEST = 60.0  # s; a time in an expression below this was meant in hours or days; assumed
_WHOLE = re.compile(r"\blot\.(?:mass|honey_mass|pieces|packages|chunk_pieces|frames|boxes|jars)\b")
_OF_BATCH = re.compile(r"\bbatch\.")
_ANSWERS = ("no", "yes", "true", "false")
_SIDE = r"(?:[a-z_]+\.[a-z_]+|q\('[^']*'\)|-?\d+(?:\.\d+)?)"
_COMPARED = re.compile(rf"(?<![\w.)])(?P<left>{_SIDE})\s*(?P<by><=|>=|==|!=|<|>)\s*(?P<right>{_SIDE})(?!\s*[*/+\-(\w.])")
_QUOTED = re.compile(r'\bq\("([^"]*)"\)')  # the other way to write q('12 h')
_NEEDLESS = re.compile(r"(?<!\w)\(([a-z_]+\.[a-z_]+)\)")  # brackets round one name
_FIXED = re.compile(r"""(?:q\((?:'[^']*'|"[^"]*")\)|param\.\w+|[-+*/().\d\s])+""")
_READS = re.compile(r"\w+\.\w+|[a-z_]+_(?:time|hold|interval|left)\(")
_WORD = re.compile(r"""(?<![\w.])(?P<of>[a-z]+)\.(?P<field>\w+)\s*[=!]=\s*['"](?P<word>[^'"]*)['"]""")
_TEMPERATURES = ("temperature", "temperature difference")


def implausible(card: Card, parameters: Mapping[str, tuple[object, str]], kinds: Collection[str]) -> Iterator[tuple[Loc, Fault]]:
    """Each such thing of a card and where. `parameters` are SI values with their dimension, `kinds` the equipment that other cards occupy."""
    yield from _times(card, parameters)
    yield from _equipment(card, kinds, parameters)
    yield from _of_batches(card, parameters)
    yield from _windows(card, parameters)
    yield from _order(card, parameters)
    yield from _dimensions(card, parameters)
    if card.together is not None and (share := _value(card.together, parameters, "share")) is not None and not 0 < share <= 1:
        yield ("together",), Fault(f'"{card.together}" is no share of the time that one takes', '"50 %" where two take half the time')
    if card.provisional is not None and card.provisional.strip().lower() in _ANSWERS:
        yield ("provisional",), Fault('"provisional" is the reason for which a date is only likely', 'leave it out, or "until the reading"')
    if card.when:
        when = _code(card.when, parameters)
        yield from ((("when",), fault) for fault in (*_constant(when), *_never(when, card), *_comparisons(when, parameters)))
    for number, care in enumerate(card.mind):
        yield from ((("mind", number, "if"), fault) for fault in _comparisons(_code(care.if_, parameters), parameters))


def _code(text: str, parameters: Mapping[str, tuple[object, str]]) -> str:
    """An expression as CEL, though it is in words; what cannot be read is told where texts are checked."""
    if worded(text):
        with suppress(Fault):
            return in_cel(text, {name: dimension for name, (_, dimension) in parameters.items()}).cel
    return text


def not_meant(parameter: Parameter, value: object, dimension: str) -> Fault | None:
    """A parameter that is a time and below nothing, or a share of more than the whole."""
    if dimension == "duration" and isinstance(value, float) and value < 0:
        return Fault(f'"{parameter.value}" is less than no time', f'"{str(parameter.value).lstrip("-−+ ")}"')
    if dimension == "share" and isinstance(value, float) and not 0 <= value <= 1:
        return Fault(f'"{parameter.value}" is no share of a whole', '"60 %", from 0 to 100 %')
    return None


def _times(card: Card, parameters: Mapping[str, tuple[object, str]]) -> Iterator[tuple[Loc, Fault]]:
    hold = card.hold
    times: list[tuple[Loc, str | None]] = [(("hands", "before"), card.hands.before), (("hands", "after"), card.hands.after)]
    if hold:
        times += [(("hold", "at least"), hold.at_least), (("hold", "look at"), hold.look_at), (("hold", "wait at most"), hold.wait_at_most)]
    if card.repeat:
        times.append((("repeat", "every"), card.repeat.every))
        if card.repeat.times is not None and _value(card.repeat.times, parameters, "count") == 0:
            yield ("repeat", "times"), Fault("0 times is never", '"12 times", or the card left out under "without"')
    times += [(("alerts", number, "before"), alert.before) for number, alert in enumerate(card.alerts)]
    for one in card.after.values():
        times.append((("after",), one.within))
    for loc, text in times:
        value = _value(text, parameters) if text is not None else None
        if value is not None and value < 0:
            yield loc, Fault(f'"{text}" is less than no time', '"12 h" or "45 min"')
        elif value == 0 and loc == ("repeat", "every"):
            yield loc, Fault(f'again "{text}" after the last is at once', '"7 d" or "24 h"')
        elif value is not None and value > LONGEST_WORK and loc[0] == "hands":
            yield loc, Fault(f'nobody works for "{text}" without a break', 'the hands-on minutes alone: "45 min"; what lasts by itself is a hold')


def _value(text: str, parameters: Mapping[str, tuple[object, str]], dimension: str = "duration") -> float | None:
    """The seconds, or the SI number of another dimension, of an amount that stands there as it is, or is reckoned of quantities and parameters alone.

    None for any other expression.
    """
    kind = kind_of(text, parameters)
    if kind == "quantity":
        try:
            return parse(text, dimension)
        except Fault:
            return None  # told where amounts are read
    try:
        found = parameters.get(parameter_name(text), (None, ""))[0] if kind == "parameter" else _reckoned(_code(text, parameters), parameters)
    except Fault:
        return None  # the same
    return found if isinstance(found, float) else None


def _reckoned(text: str, parameters: Mapping[str, tuple[object, str]]) -> object:
    """The value of an expression in which nothing is named but parameters; None of another. Raises `Fault`."""
    if not _FIXED.fullmatch(text):
        return None
    return Environment({}, Parameters({name: value for name, (value, _) in parameters.items() if isinstance(value, float)})).evaluate(text)[0]


def slip_of(name: str, kinds: Collection[str]) -> str | None:
    """The kind of equipment that a name is a slip of the hand for; None where it is like none."""
    from difflib import get_close_matches  # only a check needs it

    return next(iter(get_close_matches(name, list(kinds), n=1, cutoff=SLIP)), None)


def _order(card: Card, parameters: Mapping[str, tuple[object, str]]) -> Iterator[tuple[Loc, Fault]]:
    """Limits that pass before the work may begin, and dates that come after what they are to warn of: both counted from one moment."""
    before = "no later than that"
    for low, high, wrong in (("earliest", "deadline", "never done in time"), ("earliest", "due", "always late"), ("due", "deadline", "never what counts")):
        for one in getattr(card, low):
            for number, other in enumerate(getattr(card, high)):
                begins, ends = _lag(one, parameters), _lag(other, parameters)
                if one.of == other.of and begins is not None and ends is not None and begins > ends:
                    loc: Loc = (high, number) if low == "earliest" else (low, getattr(card, low).index(one))
                    told = f'"{low}" ({_told(one)}) lies after "{high}" ({_told(other)}): {wrong}'
                    yield loc, Fault(told, f'"{low}" {before}')


def _lag(anchor: Anchor, parameters: Mapping[str, tuple[object, str]]) -> float | None:
    """Seconds from what a moment is named by; None where nobody knows before there is a lot."""
    lags = [_value(lag, parameters) if lag else 0.0 for lag in (anchor.plus, anchor.minus)]
    return None if lags[0] is None or lags[1] is None else lags[0] - lags[1]


def _told(anchor: Anchor) -> str:
    of = "the pull" if anchor.of == "pulled" else anchor.of
    return f"{anchor.plus} after {of}" if anchor.plus else f"{anchor.minus} before {of}" if anchor.minus else of


def _dimensions(card: Card, parameters: Mapping[str, tuple[object, str]]) -> Iterator[tuple[Loc, Fault]]:
    """Expressions that add quantities of two kinds, or give another kind than is needed."""
    for one in marked(card):
        for text, dimension in _expressions(one):
            if kind_of(text, parameters) != "expression":
                continue
            try:
                found = measured(_code(text, parameters), parameters)
            except Fault as fault:
                yield one.loc, Fault(f'"{text}": {fault.message}', fault.write)
                continue
            if dimension != "any" and found not in (None, NUMBER, "word", "yes or no", dimension) and {found, dimension} != {*_TEMPERATURES}:
                told = f'"{text}" is {with_article(str(found))}; {with_article(dimension)} is needed here'
                yield one.loc, Fault(told, f"an amount that is {with_article(dimension)}")


def _expressions(one: Marked) -> Iterator[tuple[str, str]]:
    """The expressions of a text, each with the dimension that it is to have; "any" where it may have each."""
    if isinstance(one.mark, TemplateText):
        with suppress(Fault):  # told where texts are checked
            parts = template_parts(one.text)
            yield from ((part.text, part.dimension or "any") for part in placeholders_in(parts))
            yield from ((asked, "any") for asked in conditions_in(parts))
    else:
        yield one.text, one.mark.dimension if isinstance(one.mark, AmountOf) else "any"


def _constant(text: str) -> Iterator[Fault]:
    """A condition that reads nothing is the same for every lot."""
    if text.strip() not in _ANSWERS and not _READS.search(text):
        so = None
        with suppress(Fault):  # told where texts are checked
            so = Environment({}).evaluate(text)[0]
        if isinstance(so, bool):
            yield Fault(f'"{text}" is {"always" if so else "never"} so', "a condition that reads something, such as: lot.pieces > 0.0")


def _never(text: str, card: Card) -> Iterator[Fault]:
    """A name compared with a word that it never is, or that no lot of this card is."""
    for found in _WORD.finditer(text):
        name = NAMES.get(found["of"], {}).get(found["field"])
        known = [word for word in name.words if word] if name else []
        if known and found["word"] and found["word"] not in known:
            yield Fault(f'{found["of"]}.{found["field"]} is never "{found["word"]}"', instead(found["word"], known))


def _equipment(card: Card, kinds: Collection[str], parameters: Mapping[str, tuple[object, str]]) -> Iterator[tuple[Loc, Fault]]:
    for name, text in card.occupies.items():
        if name not in kinds and (near := slip_of(name, kinds)):
            yield ("occupies", name), Fault(f'no equipment is called "{name}"', f'"{near}"')
        if (dimension := _amount_of(text, parameters)) not in (*HELD, None):
            yield ("occupies", name), Fault(f'"{text}" is a {dimension}, and equipment holds room or pieces', '"10 L", or "batch.count"')


def _amount_of(text: str, parameters: Mapping[str, tuple[object, str]]) -> str | None:
    """The dimension of a quantity, of one parameter or of one name; None for anything longer."""
    kind = kind_of(text, parameters)
    if kind == "parameter":
        return parameters.get(parameter_name(text), (None, ""))[1] or None
    return _dimension(text) if kind == "quantity" else found if (found := measured(_code(text, parameters), parameters)) != NUMBER else "count"


def _of_batches(card: Card, parameters: Mapping[str, tuple[object, str]]) -> Iterator[tuple[Loc, Fault]]:
    """What a batch takes or loads, said by the whole lot's amount: each batch would take all of it."""
    if card.batches is None:
        return
    takes: list[tuple[Loc, str]] = [*((("occupies", name), text) for name, text in card.occupies.items()), *([(("loads",), card.loads)] if card.loads else [])]
    for loc, text in takes:
        code = _code(text, parameters)
        if _WHOLE.search(code) and not _OF_BATCH.search(code):
            yield loc, Fault(f'"{text}" is of the whole lot, and this card is split into batches', '"batch.volume", "batch.mass" or "batch.count"')


def _windows(card: Card, parameters: Mapping[str, tuple[object, str]]) -> Iterator[tuple[Loc, Fault]]:
    """A window that is never open: one about an event of the sun that ends before it begins, of no length, or of days too warm to be so cold."""
    for key, windows in (("window", card.window), ("end window", card.end_window)):
        for number, window in enumerate(windows):
            opens, _, closes = (window.clock or "").partition("-")
            if opens and opens == closes:
                yield (key, number, "clock"), Fault(f'"{window.clock}" opens as it shuts', '"08:00-20:00", or no clock for the whole day')
            warm = window.temperature
            for what in ("days", "nights") if warm else ():
                low, high = (_degrees(getattr(warm, f"{what}_{end}"), parameters) for end in ("at_least", "at_most"))
                for limit in (low, high):
                    if limit is not None and not COLDEST_DAY <= limit <= HOTTEST:
                        yield (key, number, "temperature"), Fault(f"{what} of {limit:g} °C never come", f'"{HOTTEST:g} °C" at most, such as "12 °C" or "54 °F"')
                if low is not None and high is not None and low > high:
                    told = f"{what} of at least {low:g} °C and at most {high:g} °C never come"
                    yield (key, number, "temperature"), Fault(told, "the lower one at least, the higher one at most")
            if window.sun is None:
                continue
            begins, ends = (_value(text, parameters) for text in (window.sun.from_, window.sun.to))
            if begins is not None and ends is not None and begins >= ends:
                told = f"a window from {window.sun.from_} to {window.sun.to} about {window.sun.at} is never open"
                cure = f'"from: {window.sun.to}, to: {window.sun.from_}"' if begins > ends else '"from: -30 min, to: 60 min"'
                yield (key, number, "sun"), Fault(told, cure)


def _degrees(text: str | None, parameters: Mapping[str, tuple[object, str]]) -> float | None:
    """°C of a quantity or of one parameter; None for an expression, and where nothing is said."""
    if text is None or kind_of(text, parameters) == "expression":
        return None
    try:
        found = parse(text, "temperature") if kind_of(text, parameters) == "quantity" else parameters.get(parameter_name(text), (None, ""))[0]
    except Fault:
        return None  # told where amounts are read
    return found if isinstance(found, float) else None


def _dimension(text: str) -> str | None:
    try:
        return dimension_of(text)
    except Fault:
        return None


def _comparisons(text: str, parameters: Mapping[str, tuple[object, str]]) -> Iterator[Fault]:
    """Comparisons in an expression of what cannot be compared; both sides plain names, quantities or numbers."""
    for found in _COMPARED.finditer(_NEEDLESS.sub(r"\1", _QUOTED.sub(r"q('\1')", text))):
        sides = found["left"], found["right"]
        measured = [_measure(side, parameters) for side in sides]
        (one, other), numbers = measured, [side for side in sides if _is_number(side)]
        if None in measured:
            continue
        if numbers and "share" in measured and abs(float(numbers[0])) > 1:
            meant = f"q('{float(numbers[0]):g} %')"
            yield Fault(f"{found[0]}: {float(numbers[0]):g} is read as {float(numbers[0]) * 100:g} %", found[0].replace(numbers[0], meant))
        elif numbers and "duration" in measured and 0 < abs(float(numbers[0])) < SHORTEST:
            meant = f"q('{float(numbers[0]):g} h')"
            yield Fault(f"{found[0]}: {float(numbers[0]):g} is read in seconds", found[0].replace(numbers[0], meant))
        elif numbers and "temperature" in measured and abs(float(numbers[0])) > HOTTEST:
            yield Fault(f"{found[0]}: {float(numbers[0]):g} is read in °C", f"{found[0].replace(numbers[0], _fahrenheit(numbers[0]))}")
        elif not numbers and one != other and not {str(one), str(other)} <= set(_TEMPERATURES):
            yield Fault(f"{found[0]} compares a {one} with a {other}", "two of a kind, such as room.temperature > q('21 °C')")


def _fahrenheit(number: str) -> str:
    """A bare number as degrees Fahrenheit, as it was likely meant."""
    return f"q('{float(number):g} °F')"


def _is_number(side: str) -> bool:
    return re.fullmatch(r"-?\d+(\.\d+)?", side) is not None


def _measure(side: str, parameters: Mapping[str, tuple[object, str]]) -> str | None:
    """The dimension of one side; None where it is not known."""
    if _is_number(side):
        return "count"
    if side.startswith("q("):
        return _dimension(side[3:-2])
    of, _, field = side.partition(".")
    return name_measures(of, field, parameters)
