"""Rule sets after layering: cards that name each other in full, parameters as SI numbers, cautions and citations."""

from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from pydantic import ValidationError

from scheduler.diagnostics import Diagnostic, Fault, Refused, instead, nearest
from scheduler.documents import Document, faults_of
from scheduler.facts.equipment import FREEZER
from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.expressions import underscored
from scheduler.rules.numbers import LoadedParameter, loaded, of_one_alone
from scheduler.rules.parameter import Caution, Parameter, Source
from scheduler.rules.products import Products
from scheduler.rules.schema import Brought, Card, Scenario, Stop
from scheduler.rules.short_forms import CardRelation
from scheduler.rules.spoken_names import reads
from scheduler.rules.templates import Placeholder, template_parts
from scheduler.rules.vocabulary import NAMES, Value, filled

MOST_CONTEXTS = 20_000  # variables kept bound for expressions; a lot or a harvest has one each


class LoadedCard(NamedTuple):
    """A card with its place; the cards it names are keys, "set/card"."""

    set: str
    name: str
    card: Card
    path: str
    line: int
    sources: tuple[str, ...] = ()  # citations
    after: Mapping[str, CardRelation] = {}
    with_: tuple[str, ...] = ()
    instead_of: str | None = None
    where_late: str | None = None
    batches_as: str | None = None
    alongside: str | None = None

    @property
    def key(self) -> str:
        """ "set/card", with spaces as in the file."""
        return f"{self.set}/{self.name}"

    @property
    def is_told_singly(self) -> bool:
        """Whether no word about many tasks at once marks it as done: a kill, a treatment, what protects food, what gives a reading."""
        card = self.card
        return card.told_singly or card.treats is not None or card.loss == "food safety" or FREEZER in card.occupies

    @property
    def is_before_pull(self) -> bool:
        """Whether it is done while the pull is still to come: it asks for that."""
        return bool(self.card.when) and reads(str(self.card.when), "harvest", "ahead")

    @property
    def place(self) -> str:
        """ "file:line card", for a reason."""
        return f"{self.path}:{self.line} {self.name}"

    @property
    def needs(self) -> tuple[str, ...]:
        """The cards whose tasks must be known before it is known whether this one exists."""
        return (*self.with_, *(key for key in (self.instead_of, self.batches_as, self.alongside) if key))


class LoadedStop(NamedTuple):
    """A stop of a rule set."""

    set: str
    kind: str
    stop: Stop


class LoadedScenario(NamedTuple):
    """A scenario of a rule set with its place."""

    set: str
    scenario: Scenario
    path: str
    line: int


class LeftOut(NamedTuple):
    """A card that a change took out, and where."""

    document: Document
    at: tuple[str | int, ...]
    card: Card


class LoadedSet(NamedTuple):
    """One rule set with its layers applied; `raw` and `places` keep what is needed to layer again and to say where."""

    name: str
    document: Document
    describes: str
    overlay: bool
    extends: tuple[str, ...]
    changes: Any  # as written; checked where they are laid on
    sources: Mapping[str, Source]
    cautions: Mapping[str, Caution]
    parameters: Mapping[str, Parameter]
    cards: Mapping[str, Card]
    stops: Mapping[str, Stop] = {}
    brings: Mapping[str, Brought] = {}  # kinds of product, by name
    equipment: Mapping[str, str] = {}  # kinds of equipment, and how each is measured
    treatments: Mapping[str, Mapping[str, str]] = {}  # active ingredient -> key of its row -> the parameter
    places: Mapping[tuple[str, str], tuple[Document, tuple[str | int, ...]]] = {}  # ("parameters" | "tasks", name) -> where it was last written
    replaced: Mapping[str, str] = {}  # parameter -> the text it had in the rule file
    for_itself: frozenset[str] = frozenset()  # parameters of another set that a change made otherwise for the cards of this one
    left_out: Mapping[str, LeftOut] = {}  # by the card's name
    no_longer: Mapping[str, str] = {}  # cards and parameters that it had, and what to write instead
    bundled: bool = False
    old_words: tuple[Diagnostic, ...] = ()  # what the changes laid on it are to call otherwise from now on

    def place(self, kind: str, name: str) -> tuple[Document, tuple[str | int, ...]]:
        """The document and location where a parameter or a card was last written."""
        return self.places.get((kind, name), (self.document, (kind, name)))


@dataclass(frozen=True)
class Rules:
    """Every rule set that is in force."""

    sets: Mapping[str, LoadedSet]
    old_ways: tuple[Diagnostic, ...] = ()  # what keepers' expressions are to ask otherwise from now on
    _contexts: OrderedDict[int, Environment] = field(default_factory=OrderedDict, repr=False, compare=False)

    @cached_property
    def parameters(self) -> dict[str, dict[str, LoadedParameter]]:
        """Parameters by set and name."""
        return {one.name: {name: self._parameter(one, name, item) for name, item in one.parameters.items()} for one in self.sets.values()}

    @cached_property
    def trade(self) -> dict[str, Any]:
        """The numbers of the trade that estimates reckon with, in every set alike: parameters by their names, whichever set has them, as SI values."""
        named = ((underscored(name), parameter.value) for name, parameter in self.lent.items())
        return filled("trade", {field: value for field, value in named if field in NAMES["trade"]})

    @cached_property
    def treatments(self) -> dict[str, dict[str, Value]]:
        """The table of active ingredients: by ingredient and key of its row, as SI values."""
        rows = ((active, row, self.parameters[one.name]) for one in self.sets.values() for active, row in one.treatments.items())
        return {active: {key: parameters[name].value for key, name in row.items()} for active, row, parameters in rows}

    @cached_property
    def cards(self) -> tuple[LoadedCard, ...]:
        """Every card, in the order of sets and files. Raises `Refused` where a card names one that there is not."""
        return tuple(self._card(one, name, card) for one in self.sets.values() for name, card in one.cards.items())

    @cached_property
    def by_key(self) -> dict[str, LoadedCard]:
        """Cards by "set/card"."""
        return {card.key: card for card in self.cards}

    @cached_property
    def in_order(self) -> tuple[LoadedCard, ...]:
        """Cards such that those named under with, instead of, batches and alongside come first."""
        done: dict[str, LoadedCard] = {}
        for card in self.cards:
            self._place_first(card, done, ())
        return tuple(done.values())

    @cached_property
    def stops(self) -> tuple[LoadedStop, ...]:
        """Every stop, in the order of sets and files."""
        return tuple(LoadedStop(one.name, stop.kind or name, stop) for one in self.sets.values() for name, stop in one.stops.items())

    @cached_property
    def products(self) -> Products:
        """The kinds of product that the sets bring."""
        return Products.of({one.name: one.brings for one in self.sets.values() if one.brings}, self.resolve)

    @cached_property
    def has_alternative(self) -> frozenset[str]:
        """Keys of cards that another one stands in for."""
        return frozenset(card.instead_of for card in self.cards if card.instead_of)

    @cached_property
    def gone(self) -> frozenset[str]:
        """Names that a rule set had: what was recorded of such a card then is no news now."""
        return frozenset(name for one in self.sets.values() for name in one.no_longer)

    @cached_property
    def watched(self) -> frozenset[str]:
        """Keys of cards beside which another one is wanted where they are late."""
        return frozenset(card.where_late for card in self.cards if card.where_late)

    @cached_property
    def caution_words(self) -> dict[str, str]:
        """What each caution says, a template for a plan: at the bench nobody reads a citation, which `rules show` gives."""
        return {name: caution.say for one in self.sets.values() for name, caution in one.cautions.items()}

    @cached_property
    def brief_cautions(self) -> dict[str, str]:
        """What each caution says in a few words; its first sentence where nobody wrote them."""
        return {name: caution.brief or caution.say.partition(". ")[0] for one in self.sets.values() for name, caution in one.cautions.items()}

    @cached_property
    def cautions(self) -> dict[str, str]:
        """Words of caution by name, quantities as written, with their citation."""
        found = {}
        for one in self.sets.values():
            for name, caution in one.cautions.items():
                cited = "; ".join(self.citation(one.name, source) for source in caution.source)
                words = "".join(part if isinstance(part, str) else part.text for part in template_parts(caution.say) if isinstance(part, str | Placeholder))
                found[name] = f"{words} ({cited})" if cited else words
        return found

    @cached_property
    def scenarios(self) -> tuple[LoadedScenario, ...]:
        """Every scenario, checked only when asked for. Raises `Refused`."""
        faults: list[Diagnostic] = []
        found = [scenario for one in self.sets.values() for scenario in _scenarios(one, faults)]
        if faults:
            raise Refused(faults)
        return tuple(found)

    def card(self, name: str, of: str | None = None) -> LoadedCard:
        """A card by "set/card", or by its name as a card of the set `of` would use it. Raises `Fault`."""
        return self.by_key[self.resolve(of or "", name)]

    def resolve(self, of: str, name: str) -> str:
        """The key that a name means inside the set `of`: a card of that set, else the only one so named. Raises `Fault`."""
        one = self.sets.get(of)
        if one and name in one.cards:
            return f"{of}/{name}"
        keys = self._keys.get(name, [])
        if one and one.bundled and len(keys) > 1:  # a keeper's card of the same name does not change what a bundled one means
            keys = [key for key in keys if self.sets[key.removesuffix(f"/{name}")].bundled]
        if len(keys) == 1:
            return keys[0]
        if keys:
            raise Fault(f'several cards are named "{name}"', " or ".join(f'"{key}"' for key in keys))
        place, _, short = name.rpartition("/")
        if place in self.sets and short in self.sets[place].cards:
            return name
        if short in self.renamed and (not place or place in self.sets):
            return self.resolve(place or of, self.renamed[short])
        known = self.sets[place].cards if place in self.sets else self._keys
        raise Fault(f'no card is named "{name}"', suggestion(short or name, known, 'the name of a card ("afterpull rules list" shows them)'))

    def citation(self, of: str, source: str) -> str:
        """Where something is published, in one line; the set's own sources first, then those of the others."""
        for one in (self.sets[of], *self.sets.values()):
            if source in one.sources:
                return one.sources[source].cited()
        return source

    def environment(self, of: str, names: Mapping[str, Any]) -> Environment:
        """The names of a lot, a harvest or a season as a set's expressions see them. Give the same mapping again and it stays bound."""
        env = self._contexts.get(id(names))
        if env is None or env.names is not names:
            env = self._contexts[id(names)] = Environment(names)
            if len(self._contexts) > MOST_CONTEXTS:
                self._contexts.popitem(last=False)
        return env.with_parameters(self.values[of])

    @cached_property
    def readable(self) -> dict[str, dict[str, LoadedParameter]]:
        """The parameters that the cards of each set may read, by set and name: its own, and what is lent."""
        return {of: {**own, **{name: one for name, one in self.lent.items() if name not in own}} for of, own in self.parameters.items()}

    @cached_property
    def lent(self) -> dict[str, LoadedParameter]:
        """The parameters that the cards of every set may read: what one set alone has, a bundled one before a keeper's."""
        stand = {one.name: {name: found for name, found in self.parameters[one.name].items() if name not in one.for_itself} for one in self.sets.values()}
        bundled, keepers = (of_one_alone([stand[one.name] for one in self.sets.values() if one.bundled == so]) for so in (True, False))
        return {**keepers, **bundled}

    def where_stands(self, of: str, name: str) -> str:
        """The set whose number a card of the set `of` reads by a name."""
        return of if name in self.parameters[of] else next(one for one, found in self.parameters.items() if found.get(name) is self.lent[name])

    @cached_property
    def values(self) -> dict[str, Parameters]:
        """SI values of the parameters that the cards of each set may read, by set and name."""
        lent = Parameters({name: one.value for name, one in self.lent.items()})
        return {
            of: Parameters({name: one.value for name, one in own.items()}, lent, {name: one.dimension for name, one in self.readable[of].items()})
            for of, own in self.parameters.items()
        }

    @cached_property
    def renamed(self) -> dict[str, str]:
        """From each name that a card had before to the one it has now."""
        return {old: name for one in self.sets.values() for name, card in one.cards.items() for old in card.formerly}

    @property
    def old_words(self) -> tuple[Diagnostic, ...]:
        """What the rule files in force, and the changes laid on them, are to call otherwise from now on."""
        return (*(old for one in self.sets.values() for old in (*one.document.old_words, *one.old_words)), *self.old_ways)

    @cached_property
    def _keys(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for one in self.sets.values():
            for name in one.cards:
                found.setdefault(name, []).append(f"{one.name}/{name}")
        return found

    def _parameter(self, one: LoadedSet, name: str, item: Parameter) -> LoadedParameter:
        document, loc = one.place("parameters", name)
        place = document.path, document.place(loc, key=True)[0]
        return loaded(name, item, tuple(self.citation(one.name, source) for source in item.source), place, one.replaced.get(name))

    def _card(self, one: LoadedSet, name: str, card: Card) -> LoadedCard:
        document, loc = one.place("tasks", name)
        return LoadedCard(
            set=one.name,
            name=name,
            card=card,
            path=document.path,
            line=document.place(loc, key=True)[0],
            sources=tuple(self.citation(one.name, source) for source in card.source),
            after=dict(self._after(one.name, card.after, ())),
            with_=tuple(self.resolve(one.name, other) for other in card.with_),
            instead_of=self.resolve(one.name, card.instead_of) if card.instead_of else None,
            where_late=self.resolve(one.name, card.where_late) if card.where_late else None,
            batches_as=self.resolve(one.name, card.batches.as_) if card.batches and card.batches.as_ else None,
            alongside=self.resolve(one.name, card.alongside) if card.alongside else None,
        )

    def _after(self, of: str, after: Mapping[str, CardRelation], out: tuple[str, ...]) -> Iterator[tuple[str, CardRelation]]:
        """What a card waits for, by key; where one is left out, in its place what that one waited for."""
        bridged: dict[str, CardRelation] = {}
        for other, relation in after.items():
            if not self.is_left_out(other):
                yield self.resolve(of, other), relation
                continue
            short = card_name(other)
            for one in self.sets.values():
                if short in one.left_out and short not in out:
                    wider = {key: CardRelation(across=relation.across or found.across) for key, found in one.left_out[short].card.after.items()}
                    bridged |= dict(self._after(one.name, wider, (*out, short)))
        own = {self.resolve(of, other) for other in after if not self.is_left_out(other)}
        yield from ((key, relation) for key, relation in bridged.items() if key not in own)

    def is_left_out(self, name: str) -> bool:
        """Whether a change took the card of this name out: what waited for it waits for what it waited for."""
        short = card_name(name)
        return short not in self._keys and (short in self.gone or any(short in one.left_out for one in self.sets.values()))

    def _place_first(self, card: LoadedCard, done: dict[str, LoadedCard], trail: tuple[str, ...]) -> None:
        if card.key in done or card.key in trail:
            return
        for key in card.needs:
            for needed in (key, *self.products.also_first(key)):
                self._place_first(self.by_key[needed], done, (*trail, card.key))
        done[card.key] = card


def card_name(key: str) -> str:
    """The card of a key "set/card", or the name itself."""
    return key.rpartition("/")[2]


def suggestion(name: str, known: Iterable[str], otherwise: str | None = None) -> str:
    """The one known name that was meant; where none is near, `otherwise` or all of them."""
    names = list(known)
    close = nearest(name, names)
    return f'"{close}"' if close else otherwise or instead(name, names)


def _scenarios(one: LoadedSet, faults: list[Diagnostic]) -> Iterator[LoadedScenario]:
    written = one.document.data.get("scenarios") or []
    if not isinstance(written, list):
        faults.append(one.document.fault(("scenarios",), "scenarios: a list is needed", '"- name: ..." for each'))
        return
    for number, item in enumerate(written):
        at = ("scenarios", number)
        try:
            yield LoadedScenario(one.name, Scenario.model_validate(item), one.document.path, one.document.place(at)[0])
        except ValidationError as error:
            faults += faults_of(one.document, error, at)
