"""Parameters of rule files as SI numbers, each with what it rests on and where it stands."""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple, TypeVar

from scheduler.rules.parameter import Parameter, si_value
from scheduler.rules.vocabulary import Value

T = TypeVar("T")


class LoadedParameter(NamedTuple):
    """A parameter as an SI number (or true, false, a word), with what it rests on and where it stands."""

    name: str
    value: Value
    dimension: str  # of `quantities`, or "yes or no", or "word"
    basis: str
    sources: tuple[str, ...]  # citations
    path: str
    line: int
    text: str  # as written
    checked: date
    range: str | None = None
    note: str | None = None
    replaces: str | None = None  # the value of the rule file that an overlay or the keeper replaced


def loaded(name: str, item: Parameter, sources: tuple[str, ...], place: tuple[str, int], replaces: str | None) -> LoadedParameter:
    """A parameter with its citations, file and line, and the text that it replaces. Raises `Fault` for a value that is none."""
    value, dimension = si_value(item)
    return LoadedParameter(
        name=name,
        value=value,
        dimension=dimension,
        basis=item.basis,
        sources=sources,
        path=place[0],
        line=place[1],
        text=str(item.value),
        checked=item.checked,
        range=item.range,
        note=item.note,
        replaces=replaces,
    )


def of_one_alone(sets: Sequence[Mapping[str, T]]) -> dict[str, T]:
    """What one of the sets alone has, by its name: a name that several have means something else in each."""
    counted = Counter(name for one in sets for name in one)
    return {name: item for one in sets for name, item in one.items() if counted[name] == 1}
