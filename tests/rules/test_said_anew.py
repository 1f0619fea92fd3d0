"""What version 0.1 wrote with signs is told in words, which give the same. The parameters are invented."""

from __future__ import annotations

import pytest

from scheduler.rules.environment import Environment, Parameters
from scheduler.rules.old_expressions import read_old
from scheduler.rules.said_anew import names_said, said_anew, shown_anew
from scheduler.rules.templates import render
from scheduler.rules.vocabulary import SAMPLES

MEASURES = {"rest": "duration", "each": "duration", "cool room": "temperature", "hot": "temperature", "clean": "yes or no", "part": "share", "heavy": "mass"}
GIVEN = Parameters({"rest": 7200.0, "each": 30.0, "cool room": 14.0, "hot": 30.0, "clean": True, "part": 0.4, "heavy": 4.0}, measures=MEASURES)
ENV = Environment(SAMPLES, GIVEN)
AMOUNTS = {
    "30.0 * lot.pieces": ("duration", "30 s each piece"),
    "param.each * lot.frames": ("duration", "$each each frame"),
    "room.temperature > param.cool_room ? param.rest * 1.2 : param.rest": (
        "duration", "120 % of $rest if the room's temperature is more than $cool room, otherwise $rest"
    ),
    "param.part * lot.mass": ("mass", "$part of the lot's mass"),
    "q('1 h') + (lot.pieces > 10.0 ? q('20 min') : q('90 s'))": ("duration", "1 h plus (20 min if pieces are more than 10, otherwise 90 s)"),
    "param.rest - q('30 min') - param.each": ("duration", "$rest less 30 min less $each"),
    "param.rest - (q('30 min') - param.each)": ("duration", "$rest less (30 min less $each)"),
    "param.rest < 3600.0 ? param.rest : 3600.0": ("duration", "smaller of $rest and 1 h"),
    "(lot.mass + param.heavy) / 2.0": ("mass", "(the lot's mass plus $heavy) divided by 2"),
    "batch.count * q('0.6 L')": ("volume", "0.6 L each one in the batch"),
    "drain_time(room.temperature, lot.moisture)": ("duration", "drain time"),
    "drain_time(param.hot, 0.18)": ("duration", "drain time at $hot with 18 %"),
    "warm_time(lot, {'temperature': param.hot, 'humidity': room.humidity}, 35.0)": ("duration", "warm time at $hot to 35 °C"),
    "int(param.rest / param.each)": ("count", "how often $each fits into $rest"),
    "lot.beetle ? q('1 h') : lot.heather ? q('2 h') : q('3 h')": ("duration", "1 h if beetle was seen, 2 h if the honey is of heather, otherwise 3 h"),
}  # fmt: skip
CONDITIONS = {
    "lot.packages > 0.0 && yard.sells || lot.beetle": "(there are packages and the yard sells) or beetle was seen",
    "!(lot.pieces > 0.0 && yard.sells)": "there are no pieces or the yard does not sell",
    "!(lot.pieces > 0.0 || yard.sells) || lot.beetle": "(there are no pieces and the yard does not sell) or beetle was seen",
    "25.0 <= room.temperature": "the room's temperature is at least 25 °C",
    "harvest.hives == 1.0": "hives are at least 1 and it is at most 1",
    "lot.frame in ['shallow', 'medium']": "the lot's frame is shallow or the lot's frame is medium",
    "lot.larvae == ''": "the lot's larvae are not said",
    "lot.moisture != null": "the lot's moisture is known",
    "param.clean == false": "$clean is not so",
    "fermentation(lot.moisture, lot.yeast) == 'at risk'": "the fermentation is at risk",
}
SAID = [*((old, *new) for old, new in AMOUNTS.items()), *((old, "yes or no", new) for old, new in CONDITIONS.items())]
SHOWN = {
    "lot.heather ? 'Press' : 'Uncap, spin'": "{if the honey is of heather: Press; otherwise: Uncap, spin}",
    "lot.packages > 0.0 ? string(int(lot.packages)) + ' packages, ' : ''": "{if there are packages: {lot.packages} packages, }",
    "known(lot.moisture) ? '' : yard.refractometer ? 'a' : 'b'": "{if the lot's moisture is not known: {if the yard has a refractometer: a; otherwise: b}}",
    "lot.jars + lot.chunk_jars": "{jars plus chunk jars}",
}


@pytest.mark.parametrize(
    ("old", "needs", "words"), [*((old, *new) for old, new in AMOUNTS.items()), *((old, "yes or no", new) for old, new in CONDITIONS.items())]
)
def test_an_expression_with_signs_is_said_in_words(old: str, needs: str, words: str) -> None:
    """And gives the same of the sample lot."""
    assert said_anew(read_old(old, MEASURES), needs, MEASURES) == words
    assert ENV.evaluate(old)[0] == pytest.approx(ENV.evaluate(words)[0])


@pytest.mark.parametrize(("old", "words"), SHOWN.items())
def test_what_stands_between_braces_is_said_in_words(old: str, words: str) -> None:
    """Choices of words, and how many; a quantity keeps the name of what it measures."""
    assert shown_anew(read_old(old, MEASURES), None, MEASURES) == words
    assert render(f"{{{old}}}", ENV) == render(words, ENV)
    assert shown_anew(read_old("lot.mass * 0.5", MEASURES), "mass", MEASURES) == "{mass: 50 % of the lot's mass}"


def test_where_no_form_says_it_each_name_is_said() -> None:
    """A product of two masses, a sum as a factor: the author finds the words with these."""
    tree = read_old("lot.mass * (1.0 + param.part) * lot.frames / (1.0 - lot.capped)", MEASURES)
    assert said_anew(tree, "mass", MEASURES) is None
    assert names_said(tree) == 'lot.mass is "the lot\'s mass"; lot.frames is "frames"; lot.capped is "the lot\'s capped share"; param.part is "$part"'
