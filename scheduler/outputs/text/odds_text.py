"""How likely a plan's limits are kept, in words a keeper can weigh: "9 of 10", never percentages; what a miss hangs on; what was assumed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from scheduler.outputs.text.rows import Rows
from scheduler.outputs.text.wrapping import Pen
from scheduler.outputs.wording.sentence import in_words, reader_of, title_of
from scheduler.planning.odds import FASTEST, SLOWEST, Odds
from scheduler.planning.plan import Plan

SHARES = (
    (0.925, "19 of 20"),
    (0.825, "9 of 10"),
    (0.625, "3 in 4"),
    (0.35, "half"),
    (0.1, "1 in 5"),
)  # the least share that is called so; between two, the nearer
NOT_LIKELY = "not likely"
THREE_IN_FOUR = SHARES[2][0]
SURE = 0.95  # from here up a limit is one of "the others"
MOST = 8
HANGS_ON = {
    "hands": "It hangs on how long the work takes.",
    "holds": "It hangs on how long combs drain, honey settles and loads freeze.",
    "weather": "It hangs on dry weather.",
}


def share_words(kept: int, of: int) -> str:
    """A share as people weigh it."""
    return next((words for least, words in SHARES if kept >= least * of), NOT_LIKELY)


def odds_text(plan: Plan, odds: Sequence[Odds], missed: float, width: int = 80, colour: bool = False, *, counted: bool = False) -> str:
    """The limits that may well be missed, the least likely first; those the plan misses already; what was assumed, in a line."""
    return "\n".join(_lines(plan, odds, missed, Rows(plan), Pen(width, colour), counted=counted)) + "\n"


def doubtful_lines(plan: Plan, odds: Sequence[Odds], width: int = 80) -> str:
    """For the plain agenda: the limit that is least likely kept, where that is less than 3 in 4; else nothing."""
    rows = Rows(plan)
    found = next((one for one in odds if one.kept < THREE_IN_FOUR * one.of and one.task in rows.tasks), None)
    if found is None:
        return ""
    task, pen = rows.tasks[found.task], Pen(width, colour=False)
    due = f", due {rows.when(task.due)}" if task.due is not None else ""
    words = f"{title_of(task)}{due}: {share_words(found.kept, found.of)}. What it hangs on and what would help: afterpull agenda --odds [{task.id}]"
    return "\n".join(["", pen.paint("HOW LIKELY", "heading"), *pen.wrapped(words, first=" - ", indent=3)]) + "\n"


def _lines(plan: Plan, odds: Sequence[Odds], missed: float, rows: Rows, pen: Pen, *, counted: bool) -> Iterator[str]:
    yield pen.paint("HOW LIKELY", "heading")
    known = {one.task for one in odds}
    late = [warning.task for warning in plan.warnings if warning.kind in ("due date missed", "waits too long") and warning.task in rows.tasks]
    for name in dict.fromkeys(name for name in late if name is not None and name not in known and rows.tasks[name].loss != "comfort"):
        yield from pen.wrapped(f"{title_of(rows.tasks[name])}: {NOT_LIKELY}, the plan is late already [{name}]", first=" - ", indent=3)
    doubtful = [one for one in odds if one.kept < SURE * one.of and one.task in rows.tasks]
    for one in doubtful[:MOST]:
        yield from pen.wrapped(_sentence(one, rows), first=" - ", indent=3)
    if sure := len(odds) - len(doubtful[:MOST]):
        yield from pen.wrapped(f"{'the other ' if doubtful else ''}{sure} limit{'' if sure == 1 else 's'}: 19 of 20 or better", first=" - ", indent=3)
    if not odds and not late:
        yield " - no limit of food, colony or crop lies in the next weeks"
    of = odds[0].of if odds else 0
    by = " by your record" if counted else ""
    share = Fraction(missed).limit_denominator(100)
    days = f"{share.numerator} day{'' if share.numerator == 1 else 's'} in {share.denominator} missed{by}" if share else "no day missed"
    assumed = f"Assumed: work takes {FASTEST:g} to {SLOWEST:g} of its time, what holds may hold longer, {days}, wet spells close work outside; {of} futures."
    yield from pen.wrapped(f"{assumed} Yours: evenings missed: 5 % in the yard file.", style="aside")


def likely_words(plan: Plan, odds: Sequence[Odds], task: str) -> str:
    """How likely the limit of one task is kept, in a sentence or two; empty where it has none that is judged."""
    found = next((one for one in odds if one.task == task), None)
    return _likely(found, Rows(plan)) if found else ""


def doubtful_tasks(plan: Plan, odds: Sequence[Odds]) -> list[tuple[str, str, str]]:
    """The limits that may well be missed, the least likely first: the task, its title, and in a sentence or two how likely."""
    rows = Rows(plan)
    return [(one.task, title_of(rows.tasks[one.task]), _likely(one, rows)) for one in odds if one.kept < SURE * one.of and one.task in rows.tasks][:MOST]


def _sentence(one: Odds, rows: Rows) -> str:
    task = rows.tasks[one.task]
    due = f", due {rows.when(task.due)}" if task.due is not None else ""
    return f"{title_of(task)}{due}: {_likely(one, rows)} [{one.task}]"


def _likely(one: Odds, rows: Rows) -> str:
    times = f"Usually over {rows.when(one.median)}, in 9 of 10 by {rows.when(one.nine_in_ten)}."
    return f"{share_words(one.kept, one.of)}. {times} {_hangs_on(one, rows)}{_help(one, rows)}"


def _help(one: Odds, rows: Rows) -> str:
    if one.help is None:
        return ""
    change, kept, of = one.help
    return f" What would help: {in_words(change, reader_of(rows.plan))}: {share_words(kept, of)}."


def _hangs_on(one: Odds, rows: Rows) -> str:
    if one.hangs_on == "evenings":
        return f"It hangs on {one.day:%a} {one.day.day} {one.day:%b}: keep those hours." if one.day else "It hangs on evenings kept."
    return HANGS_ON.get(one.hangs_on, "Several things together decide.")
