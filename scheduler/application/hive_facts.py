"""What a keeper reports of hives, and of lots that a stop holds back: foulbrood, treatments, and a lot let go on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import NamedTuple

from scheduler.application.ledger_view import LedgerView
from scheduler.application.lookup import lot_named, lots_of
from scheduler.application.refusals import AGENDA, Remedied, Standing
from scheduler.diagnostics import Fault, instead
from scheduler.facts.fact import CAUSES, Fact, HiveDied, HiveDisease, HiveTreatment, LarvaeSeen, LotReleased, QueenAbove, TaskDone
from scheduler.facts.harvest import COMB, EVERY_HIVE, UNNAMED, lot_path, pulled_at
from scheduler.planning.draft import Subject
from scheduler.planning.pulls import place_of, pulls_of
from scheduler.planning.task_ids import card_slug, current, ends_with, slug_of, subject_of
from scheduler.planning.treatments import treatments_of
from scheduler.quantities import Quantity, Statement, elapsed, instant, say
from scheduler.rules.rule_set import LoadedCard
from scheduler.rules.schema import CHOSEN
from scheduler.rules.spoken_names import reads
from scheduler.rules.vocabulary import Value

FOULBROOD = "foulbrood"
DIED = ("died", "dead")
LARVAE = ("larvae", "larva")
ABOVE = ("queen", "brood")  # seen in a super that came off
TREATMENT = {"treatment begins": True, "treatment began": True, "treatment ends": False, "treatment ended": False}


class Medicine(NamedTuple):
    """What a colony is treated with: the active ingredient, and product and batch as they stand on the package."""

    active: str | None = None
    product: str | None = None
    batch: str | None = None


UNSAID = Medicine()


def noticed_at(on: date, now: int, view: LedgerView) -> int:
    """A moment of a day at the yard [s since 1970]: now where it is today, else its noon. Raises `Fault` for a day still to come."""
    today = datetime.fromtimestamp(now, view.zone).date()
    if on > today:
        raise Fault(f"{on} is still to come", "the day on which it was seen")
    return now if on == today else int(datetime.combine(on, time(12), view.zone).timestamp())


def foulbrood(view: LedgerView, words: str, hive: str | None, on: date, now: int) -> tuple[str, HiveDisease]:
    """Foulbrood suspected in a hive, or with "no" not confirmed: the words that answer, and the fact. Raises `Fault` for a hive that no harvest names."""
    suspected = words != "no"
    if words not in ("", "no", "yes"):
        raise Fault(f'"foulbrood {words}" is not understood', '"foulbrood --of HIVE", or "foulbrood no --of HIVE" where it is not confirmed')
    known = _hives(view)
    if hive is None and not suspected and len(view.foulbrood) == 1:
        hive = next(iter(view.foulbrood))
    if hive is None:
        raise Fault("foulbrood: in which hive?", " or ".join(f"--of {name}" for name in known[:8]) or "--of the hive's name")
    if hive not in known and hive not in view.foulbrood:
        raise Fault(f'no harvest names the hive "{hive}"', instead(hive, known) if known else "log the harvest with its hives first")
    fact = HiveDisease(occurred_at=noticed_at(on, now, view), hive=hive, suspected=suspected)
    if not suspected:
        if hive not in view.foulbrood:
            known = list(view.foulbrood)
            write = instead(hive, known) if known else "afterpull agenda, which shows what is stopped"
            raise Remedied(f'foulbrood is not suspected in the hive "{hive}"', write, page=f"It is in: {', '.join(known)}." if known else "")
        return view.words(say("foulbrood not confirmed", hive=hive)), fact
    inspector = (say("reached by", inspector=view.yard.inspector),) if view.yard.inspector else ()
    return view.words(say("foulbrood suspected", hive=hive, inspector=inspector, stopped=", ".join(_stopped_by(view, hive)) or "no lot")), fact


def died(view: LedgerView, hive: str | None, cause: str | None, on: date, now: int) -> tuple[str, list[Fact]]:
    """The colony of a hive died, and of what once that is known: the words that answer, and the facts. Raises `Fault` for an unknown hive or cause."""
    known = named_hives(view)
    if hive is None:
        raise Fault("died: which hive?", " or ".join(f"--of {name}" for name in known[:8]) or "--of the hive's name")
    if hive not in known:
        raise Fault(f'no harvest names the hive "{hive}"', instead(hive, known) if known else "log the harvest with its hives first")
    cause = " ".join(cause.lower().split()) if cause is not None else None
    if cause is not None and cause not in CAUSES:
        raise Fault(f'"{cause}" is not among the causes', f"--cause '{instead(cause, CAUSES)}'")
    at = noticed_at(on, now, view)
    facts: list[Fact] = [HiveDied(occurred_at=at, hive=hive, cause=cause)]
    if cause == FOULBROOD:
        words, disease = foulbrood(view, "", hive, on, now)
        return words, [*facts, disease]
    if cause is not None and CAUSES[cause]:
        return view.words(say("colony died of", hive=hive, cause=cause)), facts
    of = (say("of a cause", cause=cause),) if cause else ()
    return view.words(say("colony died", hive=hive, of=of, stopped=", ".join(_stopped_by(view, hive)) or "no lot")), facts


def queen_above(view: LedgerView, hive: str | None, on: date, now: int) -> tuple[str, QueenAbove]:
    """Brood or the queen was seen in a super of the last harvest that names a hive. Raises `Fault` for a hive that no harvest names, or none that is off."""
    known = named_hives(view)
    if hive is None:
        raise Fault("queen or brood in a super: of which hive?", " or ".join(f"--of {name}" for name in known[:8]) or "--of the hive's name")
    if hive not in known:
        raise Fault(f'no harvest names the hive "{hive}"', instead(hive, known) if known else "log the harvest with its hives first")
    off = [one for one in view.harvests if hive in one.hives and one.harvest not in view.ahead and pulled_at(one, view.zone).date() <= on]
    if not off:
        page = "Give the day on which it was seen, or say first that they are off."
        raise Remedied(f"no super of {hive} was off by {on}", "--on the day on which it was seen, or afterpull pulled HARVEST first", page=page)
    harvest = max(off, key=lambda one: pulled_at(one, view.zone)).harvest
    fact = QueenAbove(occurred_at=noticed_at(on, now, view), harvest=harvest, hive=hive)
    return view.words(say("queen above", hive=hive, harvest=harvest)), fact


def treatment(view: LedgerView, begins: bool, hive: str | None, medicine: Medicine, at: int) -> tuple[str, HiveTreatment]:
    """A treatment of a hive, or of "all", that begins or ends. Raises `Fault` for an unknown hive or active ingredient, or an end of what never began."""
    known = [EVERY_HIVE, *named_hives(view)]
    if hive is None:
        raise Fault("treatment: of which hives?", " or ".join(f"--of {name}" for name in known[:8]))
    if hive not in known:
        if len(known) == 1:
            told = f'no hive is known by the name "{hive}": no harvest so far names its hives'
            raise Remedied(
                told, f"--of {EVERY_HIVE}, or hives: [{hive}] in a harvest file first", page=f"Write: {EVERY_HIVE}, or name the hives with a harvest"
            )
        raise Fault(f'no harvest names the hive "{hive}"', instead(hive, known))
    active = medicine.active
    if active is not None and active not in view.rules.treatments:
        raise Fault(f'"{active}" is not in the table of active ingredients', instead(active, view.rules.treatments))
    if medicine != UNSAID and not begins:
        raise Fault("active ingredient, product and batch are said where a treatment begins", f"observe treatment ends --of {hive}")
    of = "every hive" if hive == EVERY_HIVE else hive
    open_ = view.under_treatment(hive, at)
    if (begins and open_ and hive != EVERY_HIVE) or not (begins or open_):
        told = f"{of} is under a treatment already" if begins else f"no treatment of {of} was begun"
        raise Remedied(told, "afterpull undo, if what was recorded is not so", look=AGENDA)
    used = active or view.yard.treatment
    row = view.rules.treatments.get(used or "other", {})
    if not begins:
        return view.words(say("treatment ended", hive=of, at=instant(at), wait=_wait(row))), _fact(hive, at, begins, medicine)
    unfed = () if row.get("fed") else (say("no feed meanwhile"),)
    says = say("treatment began", hive=of, active=_with(used), at=instant(at), wait=_wait(row), unfed=unfed)
    return view.words(says), _fact(hive, at, begins, medicine)


def counts_hives(card: LoadedCard) -> bool:
    """Whether the work of a card is counted in hives, so that a part of it is some of them."""
    return card.card.counted is not None and reads(card.card.counted, "harvest", "hives")


def done_by_hive(view: LedgerView, text: str, hives: Sequence[str], at: int) -> list[tuple[str, HiveTreatment]]:
    """A treatment begun, or ended where it was begun, of some hives only. Raises `Fault` for a card that is not one."""
    name = slug_of(current(text, view.rules.renamed))
    card = next((card for card in view.rules.cards if card_slug(card.name) == name), None)
    if card is None or not card.card.treats:
        known = [card_slug(card.name) for card in view.rules.cards if card.card.treats or counts_hives(card)]
        raise Remedied(f"{text} is not done hive by hive", f"afterpull done {' or '.join(known)} --hive {hives[0]}", look=AGENDA)
    active = None if card.card.treats == CHOSEN else card.card.treats
    begun = [view.under_treatment(hive, at) for hive in hives]
    return [treatment(view, not open_, hive, UNSAID if open_ else Medicine(active), at) for hive, open_ in zip(hives, begun, strict=True)]


def of_their_apiary(view: LedgerView, text: str, hives: Sequence[str]) -> str:
    """The task that is meant by its end and by hives that all stand in one apiary; the text itself where that is not clear."""
    homes = {name for name, one in view.yard.apiaries.items() if not set(hives).isdisjoint(one.hives)}
    found = [task.id for task in view.plan.tasks if ends_with(task.id, text) and task.place in homes] if len(homes) == 1 else []
    return found[0] if len(found) == 1 else text


def hives_left(view: LedgerView, task: str, hives: Sequence[str]) -> list[str]:
    """The named hives of which a task was not recorded yet. Raises `Fault` for a hive that no harvest names, or of which it was."""
    of_apiary = {hive for pull in pulls_of(view.problem) if Subject(pull.season).path() == subject_of(task) for hive in pull.harvest.hives}
    known = [hive for hive in named_hives(view) if not of_apiary or hive in of_apiary]
    told = {hive for one in view.facts if isinstance(one.fact, TaskDone) and one.fact.task == task for hive in one.fact.hives or ()}
    for hive in hives:
        if hive not in known:
            raise Fault(f'no harvest names the hive "{hive}"', instead(hive, known) if known else "log the harvest with its hives first")
        if hive in told:
            raise Standing(f"{task} is done of {hive} already", task)
    return [hive for hive in known if hive not in told]


def hives_at(view: LedgerView, apiary: str) -> list[str]:
    """The hives of an apiary that harvests name. Raises `Fault` where there is none."""
    found = [hive for hive in named_hives(view) if hive in view.yard.apiaries[apiary].hives]
    if not found:
        raise Fault(f"no harvest names a hive of {apiary}", "log the harvest with its hives first")
    return found


def questions(view: LedgerView, names: Sequence[str]) -> Iterator[str]:
    """What is asked of harvests that were just logged: whether more comes, and what the label says where a hive was under a treatment."""
    pulls = pulls_of(view.problem)
    known = treatments_of(view.problem, pulls)
    for pull in pulls:
        name = pull.harvest.harvest
        if name not in names:
            continue
        last, sure = place_of(pull, pulls, view.problem.season_at(pull.apiary), view.zone)
        if not sure:
            yield view.words(say("more to come or not", harvest=name, taken=say("the last pull") if last else say("not the last pull")))
        for course in known.at(pull.harvest, pull.pulled):
            asked = say("label allows supers or not") if course.supers else say("stopped by a treatment")
            under, since = _with(course.active), instant(course.begins)
            yield view.words(say("pulled under a treatment", harvest=name, hive=course.hive, active=under, begun=since, asked=asked))


def _fact(hive: str, at: int, begins: bool, medicine: Medicine) -> HiveTreatment:
    return HiveTreatment(occurred_at=at, hive=hive, begins=begins, **medicine._asdict())


def _wait(row: Mapping[str, Value]) -> Quantity:
    """From the end of a treatment until supers and wet frames may go on."""
    return elapsed(float(row.get("wait", 0.0)))


def _with(active: str | None) -> tuple[Statement, ...]:
    return (say("with an active ingredient", active=active),) if active else ()


def named_hives(view: LedgerView) -> list[str]:
    """The hives that harvests call by a name."""
    return [hive for hive in _hives(view) if not hive.startswith(f"{UNNAMED} ")]


def release(view: LedgerView, lot: str, because: str, now: int) -> tuple[str, LotReleased]:
    """Let a lot go on that a stop holds back. Raises `Fault` where no lot is so named, or nothing stops it."""
    held = {path: stop for stop in view.plan.stops for path in stop.lots}
    path, kind = _lot(view, lot)
    if path not in held:
        page = f"Stopped: {', '.join(held)}." if held else ""
        raise Remedied(f"nothing stops {path}", instead(path, held) if held else "afterpull agenda, which shows what is stopped", page=page, look=AGENDA)
    stop = held[path]
    if stop.kind in LARVAE or path in view.happened.released:
        raise Fault(f"this word does not let {path} go on: {stop.says}", stop.to_go_on)
    if not because.strip():
        raise Fault("a lot is let go on for a reason", '--because "the label allows supers, and so does local law"')
    comb = (say("not as comb"),) if stop.kind == "treated" and kind in COMB else ()
    return view.words(say("lot goes on", lot=path, stop=stop.kind, because=because, comb=comb)), LotReleased(occurred_at=now, lot=path, because=because)


def larvae(view: LedgerView, words: str, lot: str | None, on: date, now: int) -> tuple[str, LarvaeSeen]:
    """A live larva in comb of a lot, or with "no" none any more. Raises `Fault` for what is no lot with comb in it, or none was seen in."""
    if words not in ("", "no", "yes"):
        raise Fault(f'"larvae {words}" is not understood', '"larvae --of LOT", or "larvae no --of LOT" once it was frozen again and looked through')
    seen, known = words != "no", [path for path, said in view.happened.larvae.items() if said == "seen"]
    if lot is None and not seen and len(known) == 1:
        lot = known[0]
    lots = [lot_path(harvest.harvest, one.id) for harvest in view.harvests for one in harvest.lots if one.kind in COMB]
    if lot is None:
        raise Fault("larvae: in which lot?", " or ".join(f"--of {path}" for path in (lots if seen else known)[:8]) or "--of LOT")
    path, kind = _lot(view, lot)
    if kind not in COMB:
        raise Fault(f"{path} is no comb to be sold", instead(path, lots) if lots else "a lot of cut comb or chunk honey")
    if not seen and path not in known:
        write = instead(path, known) if known else "afterpull agenda, which shows what is stopped"
        raise Remedied(f"no larva was seen in {path}", write, page=f"One was seen in: {', '.join(known)}." if known else "")
    fact = LarvaeSeen(occurred_at=noticed_at(on, now, view), lot=path, seen=seen)
    if not seen:
        return view.words(say("larvae gone", lot=path)), fact
    return view.words(say("larva seen", lot=path)), fact


def _lot(view: LedgerView, text: str) -> tuple[str, str]:
    """The path and the kind of the lot a person means."""
    lots = lots_of(view)
    path = lot_named(text, lots)
    return path, lots[path][1].kind


def _hives(view: LedgerView) -> list[str]:
    return list(dict.fromkeys(hive for harvest in view.harvests for hive in harvest.hives))


def _stopped_by(view: LedgerView, hive: str) -> list[str]:
    return [lot_path(harvest.harvest, lot.id) for harvest in view.harvests if hive in harvest.hives for lot in harvest.lots]
