"""YAML 1.2 text to plain values with their places, and from there to a checked record.

Pure: takes bytes that somebody else read. Duplicate keys, aliases and oversized files are refused; scalars follow the
YAML 1.2 core schema, so `no`, `9:30` and `2026-08-11` stay the text that was written.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, NamedTuple, Self, TypeVar

import yaml
from pydantic import BaseModel, ConfigDict, ModelWrapValidatorHandler, PrivateAttr, ValidationError, model_validator
from pydantic_core import ErrorDetails, InitErrorDetails, PydanticCustomError

from scheduler.diagnostics import Diagnostic, Fault, Refused, instead

_ANCHOR = re.compile(r"(?:^|[\s\[{,:-])[&*][^\s&*]")  # what may be an anchor or an alias; only then are the events scanned
LONGEST_NUMBER = 40  # digits; longer ones are refused before Python's own limit is met
WRITTEN_SO = "keys and values as `key: value`, and quote text that holds `: ` or ` #`"
LARGEST_FILE = 2_000_000  # bytes; a season of harvests is a few thousand

Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _Yaml12(Loader):  # type: ignore[misc]
    """The C loader with the scalars of the YAML 1.2 core schema and no others."""

    yaml_implicit_resolvers: ClassVar[dict[str, list[tuple[str, re.Pattern[str]]]]] = {}


for _tag, _pattern, _first in (
    ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
    ("null", r"~|null|Null|NULL|", "~nN\0"),
    ("int", r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+", "-+0123456789"),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)", "-+.0123456789"),
):
    _Yaml12.add_implicit_resolver(
        f"tag:yaml.org,2002:{_tag}", re.compile(f"^(?:{_pattern})$"), list(_first.replace("\0", "")) + ([""] if "\0" in _first else [])
    )


class OldWord(NamedTuple):
    """
    A key that goes, or changes its meaning: where it stands from the top of a file, "*" for any key or item; and the key that is read in its place.

    Where nothing takes its place (`now` is None) the record goes on taking it, for as long as this says so.
    """

    at: tuple[str, ...]
    now: str | None


_CHANGED = tuple(  # parameters that bundled rule files call otherwise now, wherever a change may name them
    ((set_, "parameters", old), new)
    for set_, names in {
        "cut comb": {"tempering ceiling": "tempering look", "drain ceiling": "drain look", "freeze ceiling": "freeze wait", "thaw ceiling": "thaw wait"},
        "chunk honey": {"freeze ceiling": "freeze wait"},
        "dry comb": {"freeze ceiling": "freeze wait", "dry off ceiling": "dry off wait"},
        "extracted honey": {"warming ceiling": "warming look", "settle ceiling": "settle look", "cappings ceiling": "cappings wait"},
    }.items()
    for old, new in names.items()
)
_HOLDS = (OldWord(("changes", "*", "tasks", "*", "hold", "at most"), "wait at most"), *(OldWord(("changes", *at), new) for at, new in _CHANGED))
_GIVEN = tuple(OldWord(("scenarios", "*", "given", at[1], at[0], at[2]), new) for at, new in _CHANGED)
OLD_WORDS: dict[str, tuple[OldWord, ...]] = {
    "yard": _HOLDS,
    "harvest": (),
    "rules": (OldWord(("tasks", "*", "hold", "at most"), "wait at most"), *_HOLDS, *_GIVEN),
    "channels": (),
}
"""By kind of file the keys of the version before, which are read for one more version. An entry goes out with the version after."""


@dataclass(frozen=True)
class Document:
    """The values of one file and the tree of places they came from; `old_words` tells of keys that were read for the last time."""

    path: str
    data: Any
    text: str | None  # None where it was not read from a file
    old_words: tuple[Diagnostic, ...] = ()

    @cached_property
    def root(self) -> yaml.Node | None:
        """The values with their places."""
        root: yaml.Node | None = yaml.compose(self.text, Loader=_Yaml12) if self.text is not None else None
        return root

    @cached_property
    def _pairs(self) -> dict[int, dict[str, tuple[yaml.Node, yaml.Node]]]:
        """Key and value by key, for each mapping that a place was looked for in: a search through thousands of keys for each of them takes minutes."""
        return {}

    def __getstate__(self) -> dict[str, Any]:
        """What is kept of a document; places are worked out again when something is wrong there."""
        return {name: value for name, value in vars(self).items() if name not in ("root", "_pairs")}

    def below(self, node: yaml.Node | None, step: str | int) -> tuple[yaml.Node, yaml.Node] | None:
        """What a step leads to from a node, as (key, value), an item of a list as (item, item); None where the file does not spell it out."""
        if isinstance(node, yaml.MappingNode):
            pairs = self._pairs.get(id(node))
            if pairs is None:
                pairs = self._pairs[id(node)] = {key.value: (key, value) for key, value in node.value}
            return pairs.get(str(step))
        if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
            return node.value[step], node.value[step]
        return None

    def place(self, loc: tuple[str | int, ...], *, key: bool = False) -> tuple[int, int]:
        """Line and column (from 1) of the value at `loc`, or of its key; the nearest enclosing place where it is missing."""
        node, mark = self.root, None
        for number, step in enumerate(loc, 1):
            if (pair := self.below(node, step)) is not None:  # else a step of the model that the file does not spell out
                mark, node = pair[0 if key and number == len(loc) else 1].start_mark, pair[1]
        if mark is None and self.root is not None:
            mark = self.root.start_mark
        return (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)

    @staticmethod
    def place_of(node: yaml.Node) -> tuple[int, int]:
        """Line and column (from 1) of a node of the tree."""
        return node.start_mark.line + 1, node.start_mark.column + 1

    def fault(self, loc: tuple[str | int, ...], message: str, write: str = "", *, key: bool = False) -> Diagnostic:
        """A diagnostic at the place of `loc`."""
        return Diagnostic(self.path, *self.place(loc, key=key), message, write)


def read(content: bytes, path: str, kind: str = "") -> Document:
    """Parse one file's bytes; of a `kind` in `OLD_WORDS` old keys are read as what they are called now. Raises `Refused` naming line and column."""
    if len(content) > LARGEST_FILE:
        raise too_large(path, len(content), LARGEST_FILE)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        column = error.start - (content.rfind(b"\n", 0, error.start) + 1) + 1
        raise Refused(
            [Diagnostic(path, line, column, f"byte 0x{content[error.start]:02x} is not UTF-8 text", "the file again, saved with the encoding UTF-8")]
        ) from None
    try:
        if _ANCHOR.search(text):
            _refuse_aliases(text, path)
        root = yaml.compose(text, Loader=_Yaml12)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        raise Refused([Diagnostic(path, line, column, *_problem(error))]) from None
    except yaml.YAMLError as error:
        raise Refused([Diagnostic(path, 1, 1, f"this is not YAML: {str(error).splitlines()[0]}", "plain text without control characters")]) from None
    if root is None:
        raise Refused([Diagnostic(path, 1, 1, "the file is empty", "at least its first key; the examples folder has files to start from")])
    old_words = tuple(told for old in OLD_WORDS.get(kind, ()) for told in _renewed(root, old, old.at, path))
    faults: list[Diagnostic] = []
    data = _value(root, path, faults)
    if faults:
        raise Refused(faults)
    document = Document(path, data, text, old_words)
    vars(document)["root"] = root
    return document


def too_large(path: str, size: int, largest: int) -> Refused:
    """The refusal of a file of `size` bytes where at most `largest` are read."""
    message = f"the file is {size / 1e6:.3g} MB; the largest that is read is {largest / 1e6:.3g} MB"
    return Refused([Diagnostic(path, 0, 0, message, "one file for each harvest, or for each year of a table")])


def _renewed(node: yaml.Node, old: OldWord, at: tuple[str, ...], path: str) -> Iterator[Diagnostic]:
    """Call the key at `at` below a node what it is called now, where it is there; says so with its place."""
    pairs = node.value if isinstance(node, yaml.MappingNode) else [(None, item) for item in node.value] if isinstance(node, yaml.SequenceNode) else []
    for key, value in pairs:
        if at[0] != "*" and (key is None or key.value != at[0]):
            continue
        if len(at) > 1:
            yield from _renewed(value, old, at[1:], path)
        elif key is not None and key.start_mark is not None:
            told = f'"{at[0]}" is called "{old.now}" now' if old.now else f'"{at[0]}" goes with the next version'
            write = f'"{old.now}"; the old word is read for one more version' if old.now else ""
            yield Diagnostic(path, key.start_mark.line + 1, key.start_mark.column + 1, told, write)
            key.value = old.now or key.value


_PROBLEMS = {  # what the parser says, what that is to whoever wrote it, and what to write
    "cannot start any token": ("a tab or another sign that cannot stand here; indent with spaces", ""),
    "tab character": ("a tab stands where a line is set in", "spaces in its place"),
    "mapping values are not allowed": ("a colon where no key can stand", "quotes round text that holds `: `, and the keys of one card one below the other"),
    "did not find expected key": ("text goes on where a key is wanted", "quotes round text that begins with `{` or `[`, or holds quotes of its own"),
}


def _problem(error: yaml.MarkedYAMLError) -> tuple[str, str]:
    """What is wrong in a text that is no YAML, and what to write."""
    told = str(error.problem or error)
    words, write = next((said for sign, said in _PROBLEMS.items() if sign in told), (told, ""))
    return f"this is not YAML: {words}", write or WRITTEN_SO


def _refuse_aliases(text: str, path: str) -> None:
    told = "YAML aliases (&name, *name) are not read here", "the value itself, spelt out (or quote text that begins with * or &)"
    marks = [event.start_mark for event in yaml.parse(text, Loader=_Yaml12) if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None)]
    faults = [Diagnostic(path, mark.line + 1, mark.column + 1, *told) for mark in marks if mark is not None]
    if faults:
        raise Refused(faults)


def _value(node: yaml.Node, path: str, faults: list[Diagnostic]) -> Any:
    if isinstance(node, yaml.MappingNode):
        mapping: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value) if isinstance(key_node, yaml.ScalarNode) else ""
            mark = key_node.start_mark
            if not isinstance(key_node, yaml.ScalarNode):
                faults.append(Diagnostic(path, mark.line + 1, mark.column + 1, "a key must be plain text", "a word before the colon"))
            elif key in mapping:
                faults.append(
                    Diagnostic(path, mark.line + 1, mark.column + 1, f'the key "{key}" stands twice in this mapping', "it once, with the value that is meant")
                )
            mapping[key] = _value(value_node, path, faults)
        return mapping
    if isinstance(node, yaml.SequenceNode):
        return [_value(item, path, faults) for item in node.value]
    if len(node.value) > LONGEST_NUMBER and node.tag.endswith((":int", ":float")):
        faults.append(
            Diagnostic(path, node.start_mark.line + 1, node.start_mark.column + 1, f"a number of {len(node.value)} digits", f"at most {LONGEST_NUMBER} digits")
        )
        return 0
    return _scalar(node.tag.rpartition(":")[2], node.value)


def _scalar(tag: str, text: str) -> Any:
    if tag == "null":
        return None
    if tag == "bool":
        return text.lower() == "true"
    if tag == "int":
        return int(text, 0) if text[:2].lower() in ("0x", "0o") else int(text)
    if tag == "float":
        return float(
            text.replace(".inf", "inf").replace(".Inf", "inf").replace(".INF", "inf").replace(".nan", "nan").replace(".NaN", "nan").replace(".NAN", "nan")
        )
    return text


class Record(BaseModel):
    """A mapping in a file: keys are the field names with spaces, unknown keys are refused with the nearest known one."""

    model_config = ConfigDict(alias_generator=lambda name: name.replace("_", " "), frozen=True, extra="forbid", defer_build=True, arbitrary_types_allowed=True)

    meant: ClassVar[Mapping[str, str]] = {}  # what is meant by words that people write for a key, and that are not like it

    @model_validator(mode="wrap")
    @classmethod
    def _known_keys(cls, value: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        """Refuse unknown keys by name, together with whatever else is wrong in the mapping."""
        if not isinstance(value, dict):
            return handler(value)
        known = [field.alias or name for name, field in cls.model_fields.items()]
        unknown = [key for key in value if key not in known]
        if not unknown:
            return handler(value)
        writes = {key: f'"{cls.meant[key]}"' if key in cls.meant else instead(key, known) for key in unknown}
        faults = [
            InitErrorDetails(type=PydanticCustomError("unknown_key", "unknown key", {"write": write}), loc=(key,), input=value[key])
            for key, write in writes.items()
        ]
        try:
            handler({key: item for key, item in value.items() if key in known})
        except ValidationError as error:
            faults += [_again(one) for one in error.errors(include_url=False)]
        raise ValidationError.from_exception_data(cls.__name__, faults)


class File(Record):
    """A whole file as a record, with the document it was read from."""

    _document: Document = PrivateAttr(default=Document("", None, None))

    @property
    def document(self) -> Document:
        """The values with their places, for what turns out to be wrong only beside other files."""
        return self._document

    @property
    def old_words(self) -> tuple[Diagnostic, ...]:
        """What the keeper is to call otherwise from now on, each with its place."""
        return self._document.old_words


def _again(one: ErrorDetails) -> InitErrorDetails:
    context = one.get("ctx", {})
    known = one["type"] != "unknown_key"
    kind: Any = one["type"] if known else PydanticCustomError("unknown_key", "unknown key", context)
    return InitErrorDetails(type=kind, loc=one["loc"], input=one["input"], ctx=context if known else {})


R = TypeVar("R", bound=BaseModel)


def record(document: Document, model: type[R], *, loc: tuple[str | int, ...] = (), context: Any = None) -> R:
    """The document (or the part at `loc`) as a checked record. Raises `Refused` with every fault and its place."""
    data = document.data
    for step in loc:
        data = data[step]
    try:
        found = model.model_validate(data, context=context)
    except ValidationError as error:
        raise Refused(faults_of(document, error, loc)) from None
    if isinstance(found, File):
        found._document = document
    return found


def faults_of(document: Document, error: ValidationError, loc: tuple[str | int, ...] = ()) -> list[Diagnostic]:
    """Each fault of a pydantic error as a diagnostic at its place in the file."""
    return [_diagnostic(document, dict(one), loc) for one in error.errors(include_url=False)]


_MAPPING = ("a mapping of keys to values", '"key: value" lines, or {key: value}')
_LIST = ("a list", '"- item" lines, or [item, item]')
_SHAPES = {"model_type": _MAPPING, "model_attributes_type": _MAPPING, "dict_type": _MAPPING, "mapping_type": _MAPPING, "tuple_type": _LIST, "list_type": _LIST}


def _diagnostic(document: Document, one: dict[str, Any], loc: tuple[str | int, ...]) -> Diagnostic:
    where = loc + tuple(one["loc"])
    kind, given, context = one["type"], one["input"], one.get("ctx", {})
    if kind in _SHAPES:
        what, sample = _SHAPES[kind]
        return document.fault(where, f"{_trail(document, where)}: {what} is needed (written: {_short(given)})", sample)
    trail = _trail(document, where)
    if kind in ("unknown_key", "extra_forbidden"):
        return document.fault(where, f'{_trail(document, where[:-1])}: unknown key "{where[-1]}"', context.get("write", ""), key=True)
    if kind == "missing":
        return document.fault(where[:-1], f'{_trail(document, where[:-1])}: the key "{where[-1]}" is missing', f'"{where[-1]}: ..."')
    cause = context.get("error")
    if isinstance(cause, Fault):
        return document.fault((*where, *cause.at), f"{trail}: {cause.message}", cause.write)
    message, write = _said(kind, given, context) or (f"{one['msg'][:1].lower()}{one['msg'][1:]} (written: {_short(given)})", "")
    return document.fault(where, f"{trail}: {message}", write)


def _trail(document: Document, where: tuple[str | int, ...]) -> str:
    """The keys that lead to a place, as far as the file spells them out: of "hands: 5 min" not the "before" that it stands for."""
    keys: list[str] = []
    node = document.root
    for step in where:
        if node is not None:
            if (pair := document.below(node, step)) is None:
                break
            node = pair[1]
        if not isinstance(step, int):
            keys.append(step)
    return " > ".join(keys) or "the file"


def _said(kind: str, given: Any, context: dict[str, Any]) -> tuple[str, str] | None:
    """What is wrong with a plain value and what to write, for the kinds that a person meets; None for another."""
    if kind == "literal_error":
        return f'"{given}" is not known here', instead(str(given), re.findall(r"'([^']*)'", str(context.get("expected"))))
    if kind in ("bool_parsing", "bool_type"):
        return f'"{given}" is neither yes nor no', "yes or no"
    if kind in ("int_parsing", "int_type", "int_from_float"):
        return f'"{given}" is not a whole number', "1, or another number in figures"
    if kind.startswith("date"):
        return f'"{given}" is not a date', "2026-08-11 (year, month, day)"
    return (f"text is needed (written: {_short(given)})", "words, in quotes where they hold signs") if kind == "string_type" else None


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
