"""The ids of tasks. They lie in ledgers and calendars, so their grammar stays as it is.

ridge-2/a/freeze       the card "freeze" for lot a of the harvest ridge-2
ridge-2/a/freeze.2     its second batch, or its second repetition; "freeze.2.3" is the third repetition of the second batch
ridge-2/give-back      the card "give back" for the whole harvest
yard-2026/mouse-guard  for the yard in a season
yard-2026/north/requeen  for one hive in it
"""

from __future__ import annotations

import re
from base64 import b32encode
from collections.abc import Iterable, Mapping
from hashlib import sha256

CODE = 6  # signs of a task's code at least: 30 bit, so that two of a thousand tasks meet once in two thousand plans
_CODE = re.compile(rf"[A-Z2-7]{{{CODE},52}}")  # the signs of base 32 (RFC 4648): none of 0, 1, 8, 9
_MISREAD = str.maketrans("018", "OIB")


def task_id(subject: str, card: str, batch: int | None = None) -> str:
    """The id of a card's task for a subject ("ridge-2/a"), or for one batch of it."""
    return f"{subject}/{card_slug(card)}" if batch is None else repeated(f"{subject}/{card_slug(card)}", batch)


def repeated(task: str, number: int) -> str:
    """The id of a repetition of a task."""
    return f"{task}.{number}"


def card_slug(card: str) -> str:
    """A card's name as part of an id."""
    return card.replace(" ", "-")


def last_part(task: str) -> str:
    """An id without its subject: "freeze.2"."""
    return task.rpartition("/")[2]


def slug_of(task: str) -> str:
    """The card's name in an id, without the numbers of batch and repetition: "give-back"."""
    return re.sub(r"(?:\.\d+)+$", "", last_part(task))


def path_of(task: str) -> str:
    """What an id is about: "ridge-2/a"."""
    return task.rpartition("/")[0]


def repetition_of(task: str) -> int:
    """The last number of an id, 1 where it has none."""
    return int(number) if (number := task.rpartition(".")[2]).isdigit() else 1


def number_of(task: str) -> int | None:
    """The first number of an id, of a card with batches that of the batch; None where it has none."""
    numbers = last_part(task).removeprefix(slug_of(task)).split(".")
    return int(numbers[1]) if len(numbers) > 1 else None


def subject_of(task: str) -> str:
    """The harvest, or the yard's season, in an id: "ridge-2"."""
    return task.partition("/")[0]


def without_subject(task: str) -> str:
    """An id as it may be typed where there is one harvest: "a/freeze.2"."""
    return task.partition("/")[2]


def ends_with(task: str, text: str) -> bool:
    """Whether a person who types the text may mean a task: the end of its id, without the number where it is the first."""
    return f"/{task}".endswith((f"/{text}", f"/{text}.1"))


def batch_of(task: str, batch: int | None, text: str) -> bool:
    """Whether a task is any batch of what the text names."""
    return batch is not None and f"/{task}".endswith(f"/{text}.{batch}")


def current(task: str, renamed: Mapping[str, str]) -> str:
    """An id, or the end of one, as its card is called now; `renamed` leads there from the names that cards had before."""
    if not renamed:
        return task
    name = slug_of(task)
    now = next((card_slug(new) for old, new in renamed.items() if card_slug(old) == name), None)
    if now is None:
        return task
    path, mark, last = task.rpartition("/")
    return f"{path}{mark}{now}{last.removeprefix(name)}"


def former(task: str, renamed: Mapping[str, str]) -> list[str]:
    """The ids that a task had while its card was called otherwise; `renamed` leads from the names that cards had before."""
    name = slug_of(task)
    path, mark, last = task.rpartition("/")
    return [f"{path}{mark}{card_slug(old)}{last.removeprefix(name)}" for old, new in renamed.items() if card_slug(new) == name]


def codes(tasks: Iterable[str]) -> dict[str, str]:
    """
    A short code for each id, for a label: upper case, the same in every plan. Where two begin alike, both are longer here.

    Upper case keeps a QR code small (alphanumeric mode).
    """
    spelt = sorted((_spelt(task), task) for task in set(tasks))
    found = {}
    for number, (text, task) in enumerate(spelt):
        near = [one[0] for one in (*spelt[max(0, number - 1) : number], *spelt[number + 1 : number + 2])]
        found[task] = text[: max([CODE, *(_shared(text, other) + 1 for other in near)])]
    return found


def coded(tasks: Iterable[str], text: str) -> list[str]:
    """The ids that a code may mean, in whichever case it is typed; several where a plan has grown and a code that was printed before is too short now."""
    code = text.strip().upper().translate(_MISREAD)
    return [task for task in tasks if _spelt(task).startswith(code)] if _CODE.fullmatch(code) else []


def _spelt(task: str) -> str:
    """The whole digest of an id; a code is its beginning."""
    return b32encode(sha256(task.encode("utf-8", "surrogatepass")).digest()).decode().rstrip("=")


def _shared(one: str, other: str) -> int:
    """How many signs two texts begin with alike."""
    return next((number for number, (a, b) in enumerate(zip(one, other, strict=True)) if a != b), len(one))
