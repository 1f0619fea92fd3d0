"""What a keeper reports becomes a fact in the ledger: checked first, against the plan it is about."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import NamedTuple

from scheduler.application.hive_facts import (
    ABOVE,
    DIED,
    FOULBROOD,
    LARVAE,
    TREATMENT,
    UNSAID,
    Medicine,
    died,
    foulbrood,
    hives_at,
    larvae,
    noticed_at,
    queen_above,
    questions,
    treatment,
)
from scheduler.application.hive_facts import release as let_go
from scheduler.application.ledger_view import LedgerView, view_at
from scheduler.application.lookup import by_code, refuse_future
from scheduler.application.plan_files import rules_of
from scheduler.application.planned_pulls import otherwise
from scheduler.application.refusals import AGENDA, Remedied
from scheduler.application.tell_tasks import Confirmation, Doubt
from scheduler.application.yard_check import known_apiary, packages_too_large
from scheduler.diagnostics import Diagnostic, Fault, Refused, instead
from scheduler.facts.fact import (
    READINGS,
    Fact,
    HarvestLogged,
    HarvestPulled,
    Observed,
    Reading,
    Recorded,
    Retracted,
    SeriesRecorded,
    TaskFact,
    YardSet,
    in_force,
)
from scheduler.facts.harvest import lot_path, read_harvest
from scheduler.facts.season import BLOOM, DEARTH_BEGINS, DEARTH_ENDS, MAIN_FLOW, MARKS_AND_EDGES
from scheduler.facts.yard import Yard, read_yard
from scheduler.ledger.store import Ledger
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.planning.task_ids import ends_with
from scheduler.quantities import Statement, instant, parse, say

LOT_READINGS = ("moisture", "yeast", "comb temperature", "core temperature", "mass")  # what is read of a lot
SYNONYMS = {
    "dearth begins": DEARTH_BEGINS,
    "dearth began": DEARTH_BEGINS,
    "dearth ends": DEARTH_ENDS,
    "dearth ended": DEARTH_ENDS,
    "flow begins": MAIN_FLOW[0],
    "flow ends": MAIN_FLOW[1],
}


def set_yard(ledger: Ledger, content: bytes, path: str, now: int) -> Yard:
    """Set the yard file, checked with its rules. Raises `Refused`, and writes nothing then."""
    yard = read_yard(content, path)
    rules_of(yard)
    ledger.append([YardSet(occurred_at=now, text=content.decode("utf-8-sig"), path=str(Path(path).resolve()))], now)
    return yard


def unread(ledger: Ledger, now: int) -> tuple[Diagnostic, ...]:
    """What of the harvests that were logged can be read no more with the yard file in force: a pack that it left out brought their product."""
    try:
        _ = view_at(ledger, now, search=False).harvests
    except Refused as refused:
        return refused.diagnostics
    return ()


def log(ledger: Ledger, files: Sequence[tuple[bytes, str]], now: int) -> list[str]:
    """Log several files, all or none, each its content and its path; returns the names. Raises `Refused` with the faults of all."""
    view = view_at(ledger, now)
    yard = view.yard
    faults: list[Diagnostic] = []
    found: dict[str, HarvestLogged] = {}
    for content, path in files:
        try:
            harvest = read_harvest(content, path, yard, now, view.rules.products.known)
        except Refused as refused:
            faults += refused.diagnostics
            continue
        faults += packages_too_large(harvest, yard, view.rules.trade)
        if harvest.harvest in found:
            faults.append(Diagnostic(path, 1, 1, f'the harvest "{harvest.harvest}" is also in {found[harvest.harvest].path}', "another name for one of them"))
        found[harvest.harvest] = HarvestLogged(occurred_at=now, harvest=harvest.harvest, text=content.decode("utf-8-sig"), path=path)
    if faults:
        raise Refused(faults)
    ledger.append(found.values(), now)
    return list(found)


def path_of_new(harvest: str) -> Path:
    """Where the file of a new harvest is written. Raises `Fault` where there is one already."""
    path = Path(f"{harvest}.yaml")
    if path.exists():
        raise Fault(f"{path} exists already", f"afterpull log {path}, or another name")
    return path


class Differs(NamedTuple):
    """What came off otherwise than planned, in words: frames by lot ("a=4"), all its hives, lots besides; how long before the bees left the boxes."""

    frames: Sequence[str] = ()
    hives: Sequence[str] = ()
    lots: Sequence[str] = ()
    without_bees: str | None = None


def pulled(ledger: Ledger, view: LedgerView, name: str | None, at: int, differs: Differs, now: int) -> list[str]:
    """The supers of a harvest are off since `at` [s since 1970]. Raises `Fault`, or `Refused` where it cannot have come off so."""
    refuse_future(at, now, view.zone)
    known = [harvest.harvest for harvest in view.harvests]
    waiting = list(view.ahead) or known
    if name is None and len(waiting) == 1:
        name = waiting[0]
    if name is None or name not in known:
        told = "the supers of which harvest?" if name is None else f'no harvest "{name}" is logged'
        raise Fault(told, " or ".join(f"afterpull pulled {one}" for one in waiting[:8]) or "afterpull log HARVEST first")
    words = view.words(say("supers off", harvest=name, at=instant(at)))
    if differs.frames or differs.hives or differs.lots:
        logged = next(one.text for one in view.logged if one.harvest.harvest == name)
        text = otherwise(logged, datetime.fromtimestamp(at, view.zone), *differs, view.rules.products.known)
        log(ledger, [(text.encode(), logged.path)], now)
        words += "\n" + view.words(say("file as planned", path=logged.path))
    else:
        bees = parse(differs.without_bees, "duration") if differs.without_bees is not None else None
        ledger.append([HarvestPulled(occurred_at=at, harvest=name, without_bees=bees)], now)
    return [words, *asked(ledger, [name], now)]


def asked(ledger: Ledger, names: Sequence[str], now: int, *, page: str | None = None) -> list[str]:
    """What to say once the supers of planned harvests are off, and what is asked of harvests, just logged; nothing waits for an answer."""
    view = view_at(ledger, now, page=page)
    planned = [view.words(say("pull planned", harvest=name, at=instant(view.ahead[name]))) for name in names if name in view.ahead]
    return [*planned, *questions(view, names)]


def observe(
    ledger: Ledger,
    view: LedgerView,
    words: Sequence[str],
    of: str | None,
    on: date,
    at: int,
    now: int,
    medicine: Medicine = UNSAID,
    cause: str | None = None,
) -> Confirmation:
    """A mark of the season seen on a day ("first frost"), or a reading ("moisture", "17.8 %") of a lot or of equipment."""
    refuse_future(at, now, view.zone)
    what = " ".join(" ".join(words).split())
    if cause is not None and what.lower() not in DIED:
        raise Fault("--cause is of a colony that died", f"observe died --of HIVE --cause {cause!r}")
    if what.lower().partition(" ")[0] == FOULBROOD:
        return _append(ledger, Confirmation(*foulbrood(view, what.lower().removeprefix(FOULBROOD).strip(), of, on, now)), now)
    if what.lower() in DIED:
        said, facts = died(view, of, cause, on, now)
        ledger.append(facts, now)
        return Confirmation(said, facts[0])
    if what.lower() in ABOVE:
        return _append(ledger, Confirmation(*queen_above(view, of, on, now)), now)
    if what.lower().partition(" ")[0] in LARVAE:
        return _append(ledger, Confirmation(*larvae(view, what.lower().partition(" ")[2], of, on, now)), now)
    if what.lower() in TREATMENT:
        moment = at if at != now else noticed_at(on, now, view)
        if of in view.yard.apiaries:
            told = [Confirmation(*treatment(view, TREATMENT[what.lower()], hive, medicine, moment)) for hive in hives_at(view, of)]
            ledger.append([one.fact for one in told], now)
            return told[0]._replace(words="\n".join(one.words for one in told))
        return _append(ledger, Confirmation(*treatment(view, TREATMENT[what.lower()], of, medicine, moment)), now)
    if medicine.product is not None or medicine.batch is not None:
        raise Fault("--product and --batch are of a treatment", "observe treatment begins --of all --product NAME --batch NUMBER")
    if medicine.active is not None:
        raise Fault("--with is of a treatment", f"observe treatment begins --of all --with {medicine.active!r}")
    mark = SYNONYMS.get(what.lower(), what.lower())
    if mark in MARKS_AND_EDGES or mark.startswith(BLOOM):
        return _append(ledger, mark_seen(view, mark, on, at, of), now)
    return _append(ledger, reading(view, what, of, at), now)


def reading(view: LedgerView, what: str, of: str | None, at: int) -> Confirmation:
    """What was measured of a lot, of equipment or of a room, such as "moisture 17.8 %". Raises `Fault` for what is no reading, or of nothing known."""
    measure = next((name for name in sorted(READINGS, key=len, reverse=True) if what.lower().startswith(name + " ")), None)
    if measure is None:
        known = [*MARKS_AND_EDGES, *(f"{name} VALUE" for name in READINGS)]
        raise Fault(f'"{what}" is neither a mark of the season nor a reading with its value', instead(what.lower(), known))
    written = what[len(measure) :].strip()
    value = parse(re.sub(r"(?<=\d)\s*°?\s*([cf])$", lambda unit: f" °{unit[1].upper()}", written, flags=re.IGNORECASE), READINGS[measure][0])
    subject = _subject(view, measure, of)
    says = say("reading recorded", measure=measure, of=subject, written=written)
    return Confirmation(view.words(says), Reading(occurred_at=at, of=subject, what=measure, value=value))


def mark_seen(view: LedgerView, mark: str, on: date, at: int, of: str | None = None) -> Confirmation:
    """A mark of the season, or a bloom, seen on a day, at an apiary where there are several. Raises `Fault` for one nobody knows, or a day still to come."""
    if mark not in MARKS_AND_EDGES and not mark.startswith(BLOOM):
        raise Fault(f'"{mark}" is not a mark of the season', instead(mark, MARKS_AND_EDGES))
    _bloom_known(view, mark)
    if on > datetime.fromtimestamp(view.now, view.zone).date():
        raise Fault(f"{on} is still to come", "the day on which it was seen")
    apiary = known_apiary(of, view.yard.apiaries) if of is not None and view.yard.apiaries else None
    says = say("mark seen at", mark=mark, apiary=apiary, on=on) if apiary else say("mark seen", mark=mark, on=on)
    return Confirmation(view.words(says), Observed(occurred_at=at, mark=mark, on=on, of=apiary))


def release(ledger: Ledger, view: LedgerView, lot: str, because: str, now: int) -> Confirmation:
    """Let a lot go on that a stop holds back. Raises `Fault` where nothing stops it."""
    return _append(ledger, Confirmation(*let_go(view, lot, because, now)), now)


def _bloom_known(view: LedgerView, mark: str) -> None:
    """Raises `Fault` for the bloom of a plant of which the yard does not say what it is a mark of."""
    if view.yard.season.seen_as(mark) is None:
        plant, known = mark.removeprefix(BLOOM), list(view.yard.season.blooms)
        listed = f"{instead(plant, known)}, or " if known else ""
        cure = f'{listed}under season in the yard file "blooms: {{{plant}: spring bloom}}"'
        raise Fault(f'the yard file does not say what the bloom of "{plant}" is a mark of', cure)


class Undoing(NamedTuple):
    """What would be taken back: the fact and in words; and whether a whole harvest, or the yard, goes with it."""

    fact: Recorded
    words: str
    whole: bool


def last_told(ledger: Ledger, now: int, of: str | None = None) -> Undoing | None:
    """The last fact that stands, of a task where one is named by its id or the end of one; None where there is none."""
    view = view_at(ledger, now)
    left = sorted(in_force(ledger.facts()), key=lambda one: one.sequence)
    if of is not None:
        of = by_code({one.fact.task for one in left if isinstance(one.fact, TaskFact)}, of, view.rules.renamed)
        left = [one for one in left if isinstance(one.fact, TaskFact) and ends_with(one.fact.task, of)]
        if len(tasks := {one.fact.task for one in left if isinstance(one.fact, TaskFact)}) > 1:
            raise Fault(f'"{of}" could be any of {len(tasks)} tasks', " or ".join(sorted(tasks)[:8]))
        if not left:
            raise Fault(f'nothing is recorded of "{of}"', "afterpull agenda, for what is planned")
    if not left:
        return None
    last = left[-1]
    alone = not any(type(one.fact) is type(last.fact) and _about(one.fact) == _about(last.fact) for one in left[:-1])
    return Undoing(last, view.words(told_words(last)), isinstance(last.fact, HarvestLogged | YardSet) and alone)


def undone(view: LedgerView, ids: Sequence[str], titles: Mapping[str, str] = {}, *, sure: bool) -> list[Confirmation]:
    """
    What is to be written down to take facts back, by their ids.

    Raises `Fault` where one does not stand any more, `Doubt` unless the keeper is `sure` that a harvest goes.
    """
    found = [one for one in in_force(view.recorded) if one.id in ids and not isinstance(one.fact, YardSet)]
    if not found or len(found) < len(set(ids)):
        raise Remedied("that was taken back or corrected before", "afterpull agenda", look=AGENDA)
    for one in found:
        if isinstance(one.fact, HarvestLogged) and not sure:
            raise Doubt(f"This takes back the harvest {one.fact.harvest} as it was logged, and with it what is planned from it.", "--yes")
    return [
        Confirmation(view.words(say("taken back", what=told_words(one, titles))), Retracted(occurred_at=view.now, replaces=one.id, because="undone"))
        for one in found
    ]


def told_words(one: Recorded, titles: Mapping[str, str] = {}) -> Statement:
    """What was told, and of what: of a task by its title, where `titles` has it by its id."""
    about, kind = _about(one.fact), one.fact.kind.replace("-", " ")
    if about in titles:
        about, kind = titles[about], kind.removeprefix("task ")
    return say("told of", kind=kind, about=about, at=instant(one.fact.occurred_at))


def take_back(ledger: Ledger, facts: Iterable[Recorded], now: int) -> None:
    """Take facts back; what they replaced stands again."""
    ledger.append([Retracted(occurred_at=now, replaces=one.id, because="undone") for one in facts], now)


def withdraw(ledger: Ledger, names: Sequence[str], now: int) -> list[str]:
    """Take back harvests, all or none, with every text that was logged of them; returns what to say."""
    logged = [one for one in in_force(ledger.facts()) if isinstance(one.fact, HarvestLogged)]
    found = {name: [one for one in logged if _about(one.fact) == name] for name in names}
    for name, facts in found.items():
        if not facts:
            raise Fault(f'no harvest "{name}" is logged', instead(name, {_about(one.fact) for one in logged}))
    take_back(ledger, [one for facts in found.values() for one in facts], now)
    paths = {name: next(str(getattr(one.fact, "path", "")) for one in reversed(facts)) for name, facts in found.items()}
    return [in_words(say("harvest withdrawn", harvest=name, path=path), METRIC) for name, path in paths.items()]


def _about(fact: Fact) -> str:
    """What a fact is about."""
    if isinstance(fact, Reading | SeriesRecorded):
        return f"{fact.what} of {fact.of}"
    if isinstance(fact, Observed) and fact.of is not None:
        return f"{fact.mark} at {fact.of}"
    return next((str(getattr(fact, name)) for name in ("task", "harvest", "mark", "hive", "lot", "name", "alert", "path") if hasattr(fact, name)), "")


def _subject(view: LedgerView, measure: str, of: str | None) -> str:
    """What a reading is of: a lot, a freezer, a room; where only one is possible it need not be said."""
    lots = [lot_path(harvest.harvest, lot.id) for harvest in view.harvests for lot in harvest.lots]
    if measure in LOT_READINGS:
        known = lots
    elif measure in ("freezer temperature", "ice point"):
        known = list(view.yard.freezers)
    else:
        known = [measure.partition(" ")[0]]
    if of is None and len(known) == 1:
        return known[0]
    matches = [name for name in known if of is not None and (name == of or name.endswith(f"/{of}"))]
    if len(matches) == 1:
        return matches[0]
    raise Fault(
        f"{measure}: of what?" if of is None else f'{measure}: "{of}" is not one of what it can be of',
        " or ".join(f"--of {name}" for name in known[:8]) or "log a harvest first",
    )


def _append(ledger: Ledger, confirmation: Confirmation, now: int) -> Confirmation:
    ledger.append([confirmation.fact], now)
    return confirmation
