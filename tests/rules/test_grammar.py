"""The words of amounts and conditions: what each form says, beside the same with signs; word for word what is refused; and that bundled cards are in words."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from scheduler.application.scenarios import bundled_files
from scheduler.diagnostics import Fault
from scheduler.documents import read, record
from scheduler.rules.amounts import kind_of
from scheduler.rules.card_check import marked
from scheduler.rules.expression_tree import Extreme
from scheduler.rules.expressions import ExpressionFault
from scheduler.rules.grammar import read_words
from scheduler.rules.old_expressions import read_old
from scheduler.rules.schema import RuleSet
from scheduler.rules.short_forms import Anchor, TemplateText, conditions, of_lines, read_anchors
from scheduler.rules.spoken_names import in_words, phrases, worded
from scheduler.rules.vocabulary import SAMPLES

PARAMETERS = {
    "rest": "duration", "rest before work": "duration", "rest if it is hot": "duration", "floor": "duration", "per jar": "duration", "part": "share",
    "warm": "temperature", "near": "temperature difference", "heavy": "mass", "clean": "yes or no",
}  # fmt: skip

AMOUNTS = {
    "$per jar each jar": "param.per_jar * lot.jars",
    "$per jar each chunk jar": "param.per_jar * lot.chunk_jars",
    "$per jar each one in the batch": "param.per_jar * batch.count",
    "$per jar each frame of the batch's pieces": "param.per_jar * lot.frames * batch.count / lot.pieces",
    "2 min each box plus $rest": "120.0 * harvest.boxes + param.rest",
    "$rest plus 1 h 30 min": "param.rest + 5400.0",
    "$rest less $floor less $per jar": "param.rest - param.floor - param.per_jar",
    "$rest less ($floor less $per jar)": "param.rest - (param.floor - param.per_jar)",
    "($rest plus $floor) each hive": "(param.rest + param.floor) * harvest.hives",
    "$rest before work": "param.rest_before_work",
    "$rest if it is hot plus $rest before work": "param.rest_if_it_is_hot + param.rest_before_work",
    "$part of the egg hatch time plus $floor": "param.part * egg_hatch_time(room.temperature) + param.floor",
    "50 % of $rest": "0.5 * param.rest",
    "the lot's mass divided by $heavy": "lot.mass / param.heavy",
    "how often $rest fits into $floor": "int(param.floor / param.rest)",
    "smaller of $rest and $floor": "param.rest < param.floor ? param.rest : param.floor",
    "larger of $rest plus 1 h and $floor": "param.rest + 3600.0 > param.floor ? param.rest + 3600.0 : param.floor",
    "$rest if there are pieces, otherwise $floor": "lot.pieces > 0.0 ? param.rest : param.floor",
    "$rest if the yard sells, 2 h if beetle was seen, otherwise $floor": "yard.sells ? param.rest : lot.beetle ? 7200.0 : param.floor",
    "drain time": "drain_time(room.temperature, lot.moisture)",
    "drain time with (the lot's moisture if it is known, otherwise $part)": "drain_time(room.temperature, known(lot.moisture) ? lot.moisture : param.part)",
    "beetle time left at $warm with 50 %": "beetle_time_left(lot, param.warm, 0.5)",
    "temper time to ($warm less $near)": "temper_time(lot, room, param.warm - param.near)",
    "by frame (shallow 6 L, medium 8 L, deep 12 L)": "lot.frame == 'shallow' ? 0.006 : lot.frame == 'medium' ? 0.008 : 0.012",
    "the treatment's length": "treatment.length",
    "chunk pieces": "lot.chunk_pieces",
    "the  lot's\n moisture": "lot.moisture",
    "-2 h plus $rest": "(-7200.0) + param.rest",
}
CONDITIONS = {
    "there are packages": "lot.packages > 0.0",
    "there are no chunk jars": "lot.chunk_jars == 0.0",
    "this is the last pull and the yard knows robbing": "harvest.last && season.robbing",
    "this is not the last pull": "!harvest.last",
    "no more honey is to come": "!harvest.more",
    "no treatment is chosen": "!treatment.chosen",
    "the yard has no refractometer or the yard does not sell": "!yard.refractometer || !yard.sells",
    "there is no cut comb": "!harvest.has_cut_comb",
    "the room's temperature is 25 °C or warmer": "room.temperature >= 25.0",
    "the room's temperature is $warm or colder or there are jars": "room.temperature <= param.warm || lot.jars > 0.0",
    "the lot's mass is ($heavy plus 2 kg) or more and beetle was seen": "lot.mass >= param.heavy + 2.0 && lot.beetle",
    "(there are jars or there are pieces) and beetle was not seen": "(lot.jars > 0.0 || lot.pieces > 0.0) && !lot.beetle",
    "the lot's moisture is known and it is more than the lot's moisture limit": "known(lot.moisture) && lot.moisture > lot.moisture_limit",
    "the comb's temperature is at least $warm or it is at most 2 °C": "lot.comb_temperature >= param.warm || lot.comb_temperature <= 2.0",
    "the room's temperature is warmer than 70 °F": "room.temperature > 21.11111111111111",
    "the comb's temperature was not read": "!lot.comb_read",
    "the lot's larvae are not said": "lot.larvae == ''",
    "the lot's kind is not cut comb": "lot.kind != 'cut comb'",
    "the fermentation is at risk": "fermentation(lot.moisture, lot.yeast) == 'at risk'",
    "$clean is so and $clean is not so": "param.clean && !param.clean",
    "($rest less $floor) is less than 2 h": "param.rest - param.floor < 7200.0",
}
REFUSED = {
    "$rset each jar": ('no parameter is named "rset"', 1, '"rest"'),
    "$per jar each jra": ('"jra" is nothing that is counted', 15, '"jar" (known here: '),
    "$rest plus $heavy": ("a duration and a mass are added", 12, "two of a kind, such as another duration"),
    "smaller of $rest and $warm": ("a duration and a temperature are compared", 22, "two of a kind, such as another duration"),
    "smaller of $rest": ('"smaller of" is of two amounts', 17, '"smaller of $one and $other"'),
    "$rest if there are jars": ("nothing says what it is otherwise", 24, '"$rest if there are jars, otherwise $NAME"'),
    "$rest if there are jars, $floor": ("the last of a list holds where none of the others does", 26, 'the word "otherwise" before it'),
    "$rest plus ($floor": ('a "(" stands without its ")"', 12, 'the ")" where it ends'),
    "by frame (shallow 6 L, deep 7 L)": ("nothing is said of medium frames", 10, '"by frame (shallow $NAME, medium $NAME, deep $NAME)"'),
    "temper time": ('"temper time" does not say to what', 1, '"temper time to $NAME"'),
    "beetle time left at $rest": ('"at" has a duration after it; a temperature is needed', 21, '"beetle time left at $NAME"'),
    "rest plus 2 h": ('"rest" is a parameter, and stands here as a word', 1, '"$rest"'),
    "$rest of $floor": ('a duration "of" something', 10, '"50 % of $rest", or "$NAME each jar"'),
    "it plus 2 h": ('"it" stands for nothing named before', 1, '"the lot\'s moisture"'),
    "how often $rest": ('"how often" is of two amounts', 1, '"how often $interval fits into $season"'),
    "the lot's moistur plus 2 %": ('no amount is called "the lot\'s moistur"', 1, '"the lot\'s moisture", '),
}
REFUSED_CONDITIONS = {
    "there are packagez": ('"packagez" is nothing that is counted', 11, '"packages" (known here: '),
    "beetle were seen": ('"beetle were seen" is no condition', 1, '"beetle was seen", '),
    "there are jars and there are pieces or the yard sells": (
        '"and" and "or" side by side may be read in two ways', 37, "brackets round what belongs together",
    ),
    "the room's temperature is hot": ('"hot" says nothing of a temperature', 27, '"at least", "at most", "more than" or "less than", and an amount'),
    "the room's temperature is at least $rest": ("a temperature and a duration are compared", 36, "two of a kind, such as another temperature"),
    "the lot's kind is cutcomb": ('it is never "cutcomb"', 19, '"cut comb" (known here: '),
    "the room's temperature is $rest or warmer": ("a temperature and a duration are compared", 27, "two of a kind, such as another temperature"),
    "the lot's moisture": ("nothing says what is so of it", 19, '"the lot\'s moisture is at least $NAME", or "is known"'),
    "there are jars when it rains": ('"when it rains" stands after what could be read', 16, "one of the forms in rulesets/README.md"),
}  # fmt: skip


def bare(node: Any) -> Any:
    """A tree without its places and dimensions, each part with its kind."""
    if isinstance(node, tuple) and hasattr(node, "_asdict"):
        return type(node).__name__, [(key, bare(part)) for key, part in node._asdict().items() if key not in ("at", "measures")]
    return [bare(part) for part in node] if isinstance(node, tuple) else node


def in_signs(text: str) -> Any:
    """The tree of what version 0.1 wrote; the smaller and the larger of two were choices then."""
    extreme = re.fullmatch(r"(?P<one>.+) (?P<sign>[<>]) (?P<other>.+) \? (?P=one) : (?P=other)", text)
    if extreme:
        return bare(Extreme(extreme["sign"], read_old(extreme["one"], PARAMETERS), read_old(extreme["other"], PARAMETERS)))
    return bare(read_old(text, PARAMETERS))


@pytest.mark.parametrize(("text", "signs"), AMOUNTS.items(), ids=AMOUNTS)
def test_an_amount_in_words_is_this_in_signs(text: str, signs: str) -> None:
    """And is known for words where an amount stands; dimensions change nothing in it."""
    assert worded(text) or kind_of(text, PARAMETERS) == "parameter"
    assert bare(read_words(text, PARAMETERS, "amount").tree) == in_signs(signs) == bare(read_words(text, dict.fromkeys(PARAMETERS)).tree)


@pytest.mark.parametrize(("text", "signs"), CONDITIONS.items(), ids=CONDITIONS)
def test_a_condition_in_words_is_this_in_signs(text: str, signs: str) -> None:
    """The same of conditions, which are read without being told what is asked for."""
    assert in_words(text)
    assert worded(text)
    assert bare(read_words(text, PARAMETERS, "condition").tree) == in_signs(signs) == bare(read_words(text, dict.fromkeys(PARAMETERS)).tree)


@pytest.mark.parametrize(
    ("asks", "text", "told"),
    [*(("amount", *one) for one in REFUSED.items()), *(("condition", *one) for one in REFUSED_CONDITIONS.items())],
    ids=[*REFUSED, *REFUSED_CONDITIONS],
)
def test_what_is_not_meant_is_refused_at_its_place(asks: str, text: str, told: tuple[str, int, str]) -> None:
    """Word for word, with the column and what to write."""
    with pytest.raises(ExpressionFault, match=re.escape(told[0])) as refused:
        read_words(text, PARAMETERS, asks)
    assert (refused.value.what, refused.value.column) == told[:2]
    assert refused.value.write.startswith(told[2])


def test_brackets_in_each_other_come_to_an_end() -> None:
    """A text of nothing but brackets is refused, and brings nothing down."""
    with pytest.raises(ExpressionFault, match="more than 20 amounts in each other"):
        read_words("(" * 900 + "$rest", PARAMETERS, "amount")


@pytest.mark.parametrize("text", ["lot.pieces > 0.0", "true", "param.rest * lot.jars", "lot.kind == 'cut comb'", "[1, 2]", "drain_time(21.0)", "q('2 h')"])
def test_signs_are_no_words(text: str) -> None:
    """Whatever has one of its signs."""
    assert not in_words(text)
    assert not worded(text)


def test_lines_are_one_text() -> None:
    """A first-match list, a table and a list of conditions as the line they stand for."""
    assert of_lines([{"is": "$rest", "if": ["there are jars", "the yard sells"]}, "2 h"]) == "$rest if (there are jars and the yard sells), otherwise 2 h"
    assert of_lines({"by frame": {"shallow": "6 L", "deep": "7 L"}}) == "by frame (shallow 6 L, deep 7 L)"
    assert conditions(["there are jars or there are pieces", "the yard sells"]) == "(there are jars or there are pieces) and the yard sells"
    assert conditions(["lot.jars > 0.0", "yard.sells"]) == "(lot.jars > 0.0) && (yard.sells)"
    with pytest.raises(Fault, match="some lines are in words and some in signs"):
        conditions(["there are jars", "yard.sells"])
    with pytest.raises(Fault, match='line 1 of it does not say what it "is" and "if"'):
        of_lines([{"is": "$rest"}, "2 h"])
    with pytest.raises(Fault, match="the last line is what holds where none of those before it does"):
        of_lines([{"is": "$rest", "if": "there are jars"}])


def test_moments_in_lines() -> None:
    """A first-match list of moments is one moment; beside others it stands as a list in the list."""
    lines = [{"is": "2 d after the pull", "if": "beetle was seen"}, "9 d after the pull"]
    first = Anchor(of="pulled", plus="2 d if beetle was seen, otherwise 9 d")
    assert tuple(Anchor.model_validate(one) for one in read_anchors(lines)) == (first,)
    assert [Anchor.model_validate(one) for one in read_anchors([lines, "3 d before first frost"])] == [first, Anchor(of="first frost", minus="3 d")]
    with pytest.raises(Fault, match="name one moment"):
        read_anchors([lines[0], "9 d before first frost"])


def test_every_name_a_rule_may_read_is_said_in_one_way_only() -> None:
    """No two names are said alike, and each is read back as itself."""
    said = [words for of, fields in SAMPLES.items() for field in fields for words in phrases(of, field)]
    assert len(said) == len({*said}) > len([field for fields in SAMPLES.values() for field in fields])


@pytest.mark.parametrize("path", bundled_files(), ids=lambda path: path.stem)
def test_no_bundled_amount_or_condition_is_read_words(path: Path) -> None:
    """The forms carry every card and stop; words in braces are read otherwise."""
    rules = record(read(path.read_bytes(), path.name, "rules"), RuleSet)
    texts = [one for items in (rules.tasks, rules.stops) for item in items.values() for one in marked(item) if not isinstance(one.mark, TemplateText)]
    assert [one.text for one in texts if not in_words(one.text) and one.text != "true" and kind_of(one.text, rules.parameters) == "expression"] == []
