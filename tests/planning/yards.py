"""Invented yards for the schedule: networks of tasks with free hours, one freezer, a rack, lags and due dates. All times are whole quarters of an hour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

from scheduler.local_time import DAY
from scheduler.planning.network import Calendar, Interval, Mode, Network, Precedence, Task
from tests.chance import times

QUARTER = 900
HOUR = 3600
NOON = 19500 * DAY + 12 * HOUR  # an invented day of pulling


@dataclass(frozen=True)
class Hours:
    """Free hours of every day, in hours from midnight; `days` of seven are free, and no day after `last` is."""

    opens: float
    closes: float
    days: frozenset[int] = frozenset(range(7))
    last: int = NOON // DAY + 2000

    def __call__(self, day: int) -> Iterator[Interval]:
        """The free hours that begin on a day."""
        if day % 7 in self.days and day <= self.last:
            yield day * DAY + int(self.opens * HOUR), day * DAY + int(self.closes * HOUR)


def calendar(hours: Hours, first: int = NOON // DAY - 3) -> Calendar:
    """A calendar of these hours."""
    return Calendar(first, hours.last, hours)


EVENINGS = Hours(17.5, 21.5)
WEEKENDS = Hours(8, 20, frozenset({2, 3}))
DUSK = Hours(19.5, 21.5)
NEVER = Hours(8, 9, frozenset())


def quarters(day: int) -> Iterator[Interval]:
    """Eight minutes free in each quarter of an hour from six to ten at night, and on one day of seven from eight to eight at a stretch."""
    if day % 7 == 3:
        yield day * DAY + 8 * HOUR, day * DAY + 20 * HOUR
    elif day <= NOON // DAY + 2000:
        yield from ((start, start + 480) for start in range(day * DAY + 6 * HOUR, day * DAY + 22 * HOUR, QUARTER))


def calendars() -> dict[str, Calendar]:
    """Fresh calendars of the keeper's free hours and of narrower windows within them."""
    return {"evenings": calendar(EVENINGS), "weekends": calendar(WEEKENDS), "dusk": calendar(DUSK), "never": calendar(NEVER)}


def yard(random: Random, most: int = 20, plain: bool = False, least: int = 2) -> Network:
    """A few lots with their chains, competing for the freezer, the rack and the evenings.

    A plain yard has only what rule files mostly write: no relations that end in a finish, no greatest lag shorter than from one evening
    to the next where there is a least one, no work after a hold of nothing, no work too long for an evening, nothing done, no daily rating.
    """
    tasks: list[Task] = []
    relations: list[Precedence] = []
    wanted = random.randint(least, most)
    while len(tasks) < wanted:
        _lot(random, len(tasks), min(random.randint(1, 6), wanted - len(tasks)), tasks, relations, plain)
    for i in range(1, len(tasks)):
        if random.random() < 0.1:
            relations.append(Precedence(tasks[random.randrange(i)].id, tasks[i].id))
    if not plain and random.random() < 0.3:
        done = tasks[0]
        tasks[0] = Task(done.id, done.begin, done.end, done.modes, done.release, fixed=(NOON - 2 * HOUR, NOON))
    reserved = (("freezer", NOON + 2 * DAY, NOON + 4 * DAY, 30.0),) if random.random() < 0.3 else ()
    limits = {"freezer": 6.0} if not plain and random.random() < 0.5 else {}
    return Network(tuple(tasks), tuple(relations), {"freezer": 90.0, "chest": 60.0, "rack": 24.0}, reserved, calendars(), limits)


def shared(network: Network, random: Random) -> Network:
    """The same yard where somebody else takes about a third of the work, in the same hours; some of that both do together."""

    def second(task: Task) -> Task:
        together = max(task.begin, task.end) <= HOUR and random.random() < 1 / 3  # what is longer may fit no span in one go
        return replace(task, hands="second", joined_by="" if together else None)

    return replace(network, tasks=tuple(second(task) if random.random() < 1 / 3 else task for task in network.tasks))


WAYS = {"hill": 2 * QUARTER, "mill": 3 * QUARTER}  # two apiaries and how far off they are


def scattered(network: Network, random: Random) -> Network:
    """The same yard where much of the work is at one of two apiaries, each a way off."""
    tasks = tuple(replace(task, place=random.choice(["", "hill", "hill", "mill"])) for task in network.tasks)
    present = ((random.choice(["", "second"]), random.choice(["hill", "mill"]), NOON),) if random.random() < 0.3 else ()
    return replace(network, tasks=tasks, travel=WAYS, present=present)


def running(network: Network, random: Random) -> Network:
    """The same yard where the first holds of some lots run already, since before the plan is made."""
    later = {relation.after for relation in network.precedences}
    started = {task.id for task in network.tasks if task.end and task.id not in later and not task.fixed and random.random() < 0.5}
    return replace(network, tasks=tuple(begun(task, NOON - HOUR) if task.id in started else task for task in network.tasks))


def begun(task: Task, at: int) -> Task:
    """A task whose first work is over and whose hold runs since a moment; its end is still to come."""
    return replace(task, begin=0, begin_calendar=None, release=at, begun=True)


def _lot(random: Random, at: int, length: int, tasks: list[Task], relations: list[Precedence], plain: bool) -> None:
    release = NOON + random.randint(0, 5 * 24) * HOUR
    for i in range(length):
        name = f"lot {at:02d}/{i}"
        tasks.append(_task(random, name, release, plain))
        if i and random.random() < 0.85:
            kind = random.choice(["finish to start"] * 8 + ["start to start"] + ([] if plain else ["finish to finish", "start to finish"] * 2))
            least = random.choice([0, 0, 0, 4 * QUARTER, 12 * HOUR])
            greatest = random.choice([None, None, least + 2 * HOUR, least + 12 * HOUR, least + 2 * DAY])
            if plain and least and greatest is not None:
                greatest = least + DAY
            relations.append(
                Precedence(f"lot {at:02d}/{random.randrange(i)}" if random.random() < 0.2 else f"lot {at:02d}/{i - 1}", name, kind, least, greatest)
            )


def _task(random: Random, name: str, release: int, plain: bool) -> Task:
    kind = random.choice(["work", "work", "hold", "freeze", "drain"])
    begin = random.choice([0, 1, 2, 4, 6]) * QUARTER
    if not plain and random.random() < 0.05:
        begin = 40 * QUARTER
    end = random.choice([0, 0, 1, 2]) * QUARTER
    open_in = random.choice(["evenings", "evenings", "evenings", "dusk", None])
    if begin > 16 * QUARTER:
        open_in = "evenings"
    modes: tuple[Mode, ...]
    if kind == "freeze":
        litres = float(random.choice([20, 30, 45, 60]))
        load = (("freezer", float(random.choice([2, 3, 5, 8]))),) if not plain else ()
        modes = (Mode(random.choice([24, 48, 72]) * HOUR, None, (("freezer", litres),), load),)
        if random.random() < 0.4:
            modes += (Mode(modes[0].hold + 12 * HOUR, None, (("chest", litres),)),)
    elif kind == "drain":
        hold = random.choice([12, 24, 48]) * HOUR
        modes = (Mode(hold, random.choice([None, 24 * HOUR]), (("rack", float(random.choice([8, 12, 20]))),)),)
    else:
        modes = (Mode(random.choice([0, 6, 12]) * HOUR if kind == "hold" else 0, None),)
        end = 0 if plain and kind == "work" else end
    limit = release + random.randint(1, 8) * DAY if random.random() < 0.5 else None
    due, deadline = (limit, None) if random.random() < 0.8 else (None, limit)
    return Task(name, begin, end, modes, release, due, deadline, random.choice(["food safety", "crop", "comfort"]), open_in, "evenings" if open_in else None)


DAYTIME = Hours(7, 21)
LOT = (  # a chain of cards: name, begin and end in minutes, hold in hours, resource and amount, greatest lag after the one before in hours
    ("moisture", 10, 0, 0, None, None),
    ("temper", 5, 0, 12, None, None),
    ("cut", 30, 0, 0, None, 24),
    ("drain", 10, 0, 24, ("rack", 8.0), 2),
    ("pack", 30, 0, 0, None, 12),
    ("label", 15, 0, 0, None, None),
    ("freeze", 10, 5, 48, ("freezer", 25.0), 48),
    ("thaw", 5, 0, 12, None, None),
    ("sell", 0, 0, 0, None, None),
    ("look", 5, 0, 720, None, None),
    ("check", 5, 0, 720, None, None),
)


def harvest(name: str, release: int) -> tuple[list[Task], list[Precedence]]:
    """The 45 tasks of one harvest: a task for the whole, and four lots of a chain each."""
    tasks = [Task(f"{name}/close up", 600, 0, (Mode(0, None),), release, release + DAY, None, "food safety", "daytime", "daytime")]
    relations: list[Precedence] = []
    for lot in "abcd":
        before = tasks[0].id
        for card, begin, end, hold, needs, within in LOT:
            one = f"{name}/{lot}/{card}"
            demands = (needs,) if needs and (card != "freeze" or lot == "a") else ()
            due = release + 5 * DAY if card == "freeze" else None
            tasks.append(Task(one, begin * 60, end * 60, (Mode(hold * HOUR, None, demands),), release, due, None, "food safety", "daytime", "daytime"))
            relations.append(Precedence(before, one, greatest=within * HOUR if within else None))
            before = one
    return tasks, relations


def season(harvests: int, every: float = DAY) -> Network:
    """So many harvests in one yard with one freezer, one every so many seconds."""
    made = [harvest(f"h{i:04d}", NOON + int(i * every)) for i in range(harvests)]
    tasks = tuple(task for one, _ in made for task in one)
    relations = tuple(relation for _, some in made for relation in some)
    return Network(tasks, relations, {"freezer": 90.0, "rack": 60.0}, (), {"daytime": calendar(DAYTIME)})


def one_or_two(random: Random, most: int) -> Network:
    """A yard with one pair of hands or with two, where some of the holds run already."""
    network = yard(random, most)
    network = shared(network, random) if random.random() < 0.5 else network
    return running(network, random) if random.random() < 0.5 else network


randoms = st.randoms(use_true_random=False)


def spread(random: Random, most: int) -> Network:
    """The same with two apiaries."""
    return scattered(one_or_two(random, most), random)


scattered_yards = st.builds(spread, randoms, st.integers(2, 30))
yards = st.builds(one_or_two, randoms, st.integers(2, 30))
often = settings(
    max_examples=times(160),
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
sparse = settings(often, max_examples=times(100))


def work(name: str, minutes: int = 15, window: str | None = "evenings", **more: int) -> Task:
    """Hands-on work in a window."""
    return Task(name, minutes * 60, 0, (Mode(0, None),), NOON, begin_calendar=window, **more)


def frozen(name: str, litres: float, mass: float = 0.0, due: int | None = None) -> Task:
    """A lot to be frozen for a day, at any hour."""
    return Task(name, 0, 0, (Mode(DAY, None, (("freezer", litres),), (("freezer", mass),) if mass else ()),), NOON, due)


def one_freezer(*tasks: Task, relations: tuple[Precedence, ...] = (), rating: float | None = None) -> Network:
    """Tasks in a yard with one freezer, rated for so many kg a day or unrated."""
    return Network(tasks, relations, {"freezer": 90.0}, calendars=calendars(), daily={"freezer": rating} if rating else {})
