"""What is well formed in a card and cannot be meant: times below nothing, amounts of the wrong kind, temperatures compared with hours."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import suppress

from scheduler.diagnostics import Fault, instead
from scheduler.quantities import parse
from scheduler.rules.amounts import kind_of, parameter_name
from scheduler.rules.card_check import Loc
from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.expression_dimensions import measured
from scheduler.rules.expression_tree import Called, Compared, Constant, Name, NamedNumber, Node, Whole, parts_of
from scheduler.rules.expressions import dimension_of
from scheduler.rules.old_expressions import NUMBER
from scheduler.rules.parameter import Parameter
from scheduler.rules.said_anew import said_anew
from scheduler.rules.schema import Card
from scheduler.rules.short_forms import Anchor
from scheduler.rules.spoken_names import YES_NO
from scheduler.rules.vocabulary import NAMES

HELD = ("volume", "count")  # what equipment holds is measured so
SLIP = 0.8  # how like a known kind of equipment another name is, to be taken for a slip of the hand; assumed
HOTTEST = 50.0  # °C that no room, store or comb of honey has; a number above it is one in °F
COLDEST_DAY = -60.0  # °C; assumed, as HOTTEST
LONGEST_WORK = 7 * 86_400.0  # s of hands in one task, which its parts may divide between evenings; assumed
SHORTEST = 60.0  # s; a time in an expression below this was meant in hours or days; assumed
_WHOLE = ("mass", "honey_mass", "pieces", "packages", "chunk_pieces", "frames", "boxes", "jars")
_ANSWERS = ("no", "yes", "true", "false")


def implausible(card: Card, parameters: Parameters, kinds: Collection[str]) -> Iterator[tuple[Loc, Fault]]:
    """Each such thing of a card and where. `kinds` are the equipment that other cards occupy."""
    yield from _times(card, parameters)
    yield from _equipment(card, kinds, parameters)
    yield from _of_batches(card, parameters)
    yield from _windows(card, parameters)
    yield from _order(card, parameters)
    if card.together is not None and (share := _value(card.together, parameters, "share")) is not None and not 0 < share <= 1:
        yield ("together",), Fault(f'"{card.together}" is no share of the time that one takes', '"50 %" where two take half the time')
    if card.provisional is not None and card.provisional.strip().lower() in _ANSWERS:
        yield ("provisional",), Fault('"provisional" is the reason for which a date is only likely', 'leave it out, or "until the reading"')
    if card.when:
        when = _tree(card.when, parameters)
        yield from ((("when",), fault) for fault in (*_constant(card.when, when), *_never(when), *_comparisons(card.when, when)))
    for number, care in enumerate(card.mind):
        yield from ((("mind", number, "if"), fault) for fault in _comparisons(care.if_, _tree(care.if_, parameters)))


def _tree(text: str, parameters: Parameters) -> Node | None:
    """An expression as it is read; what cannot be read is told where texts are checked."""
    with suppress(Fault):
        return parameters.read(text).tree
    return None


def not_meant(parameter: Parameter, value: object, dimension: str) -> Fault | None:
    """A parameter that is a time and below nothing, or a share of more than the whole."""
    if dimension == "duration" and isinstance(value, float) and value < 0:
        return Fault(f'"{parameter.value}" is less than no time', f'"{str(parameter.value).lstrip("-−+ ")}"')
    if dimension == "share" and isinstance(value, float) and not 0 <= value <= 1:
        return Fault(f'"{parameter.value}" is no share of a whole', '"60 %", from 0 to 100 %')
    return None


def _times(card: Card, parameters: Parameters) -> Iterator[tuple[Loc, Fault]]:
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


def _value(text: str, parameters: Parameters, dimension: str = "duration") -> float | None:
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
        found = parameters.get(parameter_name(text)) if kind == "parameter" else _reckoned(text, parameters)
    except Fault:
        return None  # the same
    return found if isinstance(found, float) else None


def _reckoned(text: str, parameters: Parameters) -> object:
    """The value of an expression in which nothing is named but parameters; None of another. Raises `Fault`."""
    tree = parameters.read(text).tree
    if any(isinstance(part, Name | Whole | Called) for part in parts_of(tree)):
        return None
    return Environment({}, parameters).worked(text, tree)[0]


def slip_of(name: str, kinds: Collection[str]) -> str | None:
    """The kind of equipment that a name is a slip of the hand for; None where it is like none."""
    from difflib import get_close_matches  # only a check needs it

    return next(iter(get_close_matches(name, list(kinds), n=1, cutoff=SLIP)), None)


def _order(card: Card, parameters: Parameters) -> Iterator[tuple[Loc, Fault]]:
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


def _lag(anchor: Anchor, parameters: Parameters) -> float | None:
    """Seconds from what a moment is named by; None where nobody knows before there is a lot."""
    lags = [_value(lag, parameters) if lag else 0.0 for lag in (anchor.plus, anchor.minus)]
    return None if lags[0] is None or lags[1] is None else lags[0] - lags[1]


def _told(anchor: Anchor) -> str:
    of = "the pull" if anchor.of == "pulled" else anchor.of
    return f"{anchor.plus} after {of}" if anchor.plus else f"{anchor.minus} before {of}" if anchor.minus else of


def _constant(text: str, tree: Node | None) -> Iterator[Fault]:
    """A condition that reads nothing is the same for every lot."""
    if tree is None or text.strip() in _ANSWERS or any(isinstance(part, Name | NamedNumber | Called) for part in parts_of(tree)):
        return
    with suppress(Fault):  # told where texts are checked
        so = Environment({}).worked(text, tree)[0]
        if isinstance(so, bool):
            yield Fault(f'"{text}" is {"always" if so else "never"} so', 'a condition that reads something, such as "there are pieces"')


def _never(tree: Node | None) -> Iterator[Fault]:
    """A name compared with a word that it never is, or that no lot of this card is."""
    for part in parts_of(tree) if tree else ():
        if not isinstance(part, Compared) or not isinstance(part.right, Constant):
            continue
        name, word = part.left, part.right.value
        if isinstance(name, Name) and isinstance(word, str):
            record = NAMES.get(name.of, {}).get(name.field)
            known = [one for one in record.words if one] if record else []
            if known and word and word not in known:
                yield Fault(f'{name.of}.{name.field} is never "{word}"', instead(word, known))


def _equipment(card: Card, kinds: Collection[str], parameters: Parameters) -> Iterator[tuple[Loc, Fault]]:
    for name, text in card.occupies.items():
        if name not in kinds and (near := slip_of(name, kinds)):
            yield ("occupies", name), Fault(f'no equipment is called "{name}"', f'"{near}"')
        if (dimension := _amount_of(text, parameters)) not in (*HELD, None):
            yield ("occupies", name), Fault(f'"{text}" is a {dimension}, and equipment holds room or pieces', '"10 L", or "the batch\'s count"')


def _amount_of(text: str, parameters: Parameters) -> str | None:
    """The dimension of a quantity, of one parameter or of one name; None for anything longer."""
    kind = kind_of(text, parameters)
    if kind == "parameter":
        return parameters.measures.get(parameter_name(text))
    if kind == "quantity":
        return _dimension(text)
    with suppress(Fault):  # told where texts are checked
        return found if (found := measured(tree, text) if (tree := _tree(text, parameters)) else None) != NUMBER else "count"
    return None


def _of_batches(card: Card, parameters: Parameters) -> Iterator[tuple[Loc, Fault]]:
    """What a batch takes or loads, said by the whole lot's amount: each batch would take all of it."""
    if card.batches is None:
        return
    takes: list[tuple[Loc, str]] = [*((("occupies", name), text) for name, text in card.occupies.items()), *([(("loads",), card.loads)] if card.loads else [])]
    for loc, text in takes:
        names = [part for part in parts_of(tree) if isinstance(part, Name)] if (tree := _tree(text, parameters)) else []
        if any(name.of == "lot" and name.field in _WHOLE for name in names) and not any(name.of == "batch" for name in names):
            yield (
                loc,
                Fault(
                    f'"{text}" is of the whole lot, and this card is split into batches', '"the batch\'s volume", "the batch\'s mass" or "the batch\'s count"'
                ),
            )


def _windows(card: Card, parameters: Parameters) -> Iterator[tuple[Loc, Fault]]:
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


def _degrees(text: str | None, parameters: Parameters) -> float | None:
    """°C of a quantity or of one parameter; None for an expression, and where nothing is said."""
    if text is None or kind_of(text, parameters) == "expression":
        return None
    try:
        found = parse(text, "temperature") if kind_of(text, parameters) == "quantity" else parameters.get(parameter_name(text))
    except Fault:
        return None  # told where amounts are read
    return found if isinstance(found, float) else None


def _dimension(text: str) -> str | None:
    try:
        return dimension_of(text)
    except Fault:
        return None


def _comparisons(text: str, tree: Node | None) -> Iterator[Fault]:
    """Bare numbers of an old expression that were meant in hours, percent or degrees Fahrenheit."""
    for part in parts_of(tree) if tree else ():
        if not isinstance(part, Compared):
            continue
        for side, number in ((part.left, part.right), (part.right, part.left)):
            if not isinstance(number, Constant) or number.measures != NUMBER or not isinstance(number.value, float) or not isinstance(side, Name | NamedNumber):
                continue
            value, of = number.value, side.measures
            if of == "share" and abs(value) > 1:
                yield Fault(f"{text}: {value:g} is read as {value * 100:g} %", _meant(part, number, f"{value:g} %"))
            elif of == "duration" and 0 < abs(value) < SHORTEST:
                yield Fault(f"{text}: {value:g} is read in seconds", _meant(part, number, f"{value:g} h"))
            elif of == "temperature" and abs(value) > HOTTEST:
                yield Fault(f"{text}: {value:g} is read in °C", _meant(part, number, f"{value:g} °F"))


def _meant(compared: Compared, number: Constant, quantity: str) -> str:
    """The comparison in words, with the quantity that its bare number was likely meant as."""
    stands = NamedNumber(quantity, None)
    left, right = (stands if side is number else side for side in (compared.left, compared.right))
    said = said_anew(Compared(compared.sign, left, right), YES_NO, {part.name: None for part in (*parts_of(compared), stands) if isinstance(part, NamedNumber)})
    return f'"{said.replace(f"${quantity}", quantity)}"' if said else f'"{quantity}"'
