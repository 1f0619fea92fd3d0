"""Every number of the bundled rules that can hurt somebody, bees or the crop when it is wrong, with its safe end.

A change of a rule file, or an overlay, that goes past one fails here. Sources: BEEBOOK II (wax moth 5.8.1, 2.1; small hive beetle); J. Econ. Entomol.
104(3) 2011 and USDA ARS 112437 (beetle eggs); USDA Farmers' Bulletin 447 (heat of honey); Directive 2001/110/EC Annex II and USDA grades (water);
labels and product characteristics Vm 40476/4000, AN 01911/2010, AN 01519/2014 (treatments); extension pages named in the rule files. Where none is
named the end is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import pytest

from scheduler.diagnostics import Refused
from scheduler.quantities import parse
from scheduler.rules.expressions import dimension_of
from scheduler.rules.load import load, overlays
from scheduler.rules.rule_set import Rules


class Safe(NamedTuple):
    """A parameter with the end that it may not pass: "at least", "at most" or "is"."""

    of: str
    name: str
    end: str
    bound: str | bool
    why: str


DAY_OF_FREEZING = "over 24 h in a household freezer, and the core has its own time on top (BEEBOOK II 5.8.1)"
EGGS = (
    "eggs at the pull are of any age, and moth eggs hatch from the third day on at 29 to 35 °C (common practice), the fifth at 27 °C (University of Illinois)"
)
SYRUP = "liquid syrup is not taken below 10 °C (Atlantic Tech Transfer Team 2023)"
TABLE = (
    Safe("freezing", "freeze floor", "at least", "24 h", DAY_OF_FREEZING),
    Safe("freezing", "eggs of any age", "at most", "50 %", EGGS),
    Safe("freezing", "latest hatch", "at most", "7 d", EGGS),
    Safe("freezing", "thaw wait", "at most", "7 d", "thawed comb sets and is open to moths again"),
    *(
        Safe("freezing", f"kills {when}{what}", end, bound, "all stages of wax moth, no credit between the published lines (BEEBOOK II 5.8.1)")
        for when, cold, time in (("", "-6.7 °C", "4.5 h"), ("sooner ", "-12.2 °C", "3 h"), ("soonest ", "-15 °C", "2 h"))
        for what, end, bound in (("from", "at most", cold), ("within", "at least", time))
    ),
    Safe("comb pests", "moth eggs from", "at most", "10 °C", "related moths do not hatch below 10 to 13 °C"),
    Safe("comb pests", "moth eggs after", "at most", "85 °C d", "five days at 27 °C, the quickest in print (University of Illinois)"),
    Safe("comb pests", "hot moth eggs from", "at most", "29 °C", EGGS),
    Safe("comb pests", "hot moth eggs after", "at most", "3 d", EGGS),
    Safe("comb pests", "beetle eggs from", "at most", "13.5 °C", "the least for eggs (J. Econ. Entomol. 2011)"),
    Safe("comb pests", "beetle eggs after", "at most", "19.1 °C d", "61 h at 21 °C (J. Econ. Entomol. 2011)"),
    Safe("comb pests", "beetle eggs dry under", "at most", "50 %", "they hatch in damper air (USDA ARS 112437)"),
    Safe("freezing", "thermometer off by", "at least", "1 K", "a freezer that swings is not as cold all the time as it was when read"),
    Safe("freezing", "logger off by", "at least", "0.5 K", "a logger has an error of its own"),
    Safe("freezing", "new food a day at the least", "at most", "3.2 kg/day", "the slow end of what is published (University of Minnesota Extension)"),
    Safe("freezing", "power of a small freezer", "at most", "50 W", "the low end of 50 to 100 W"),
    Safe("freezing", "share of the plate", "at most", "100 %", "no freezer does more than its plate says"),
    Safe("freezing", "above dew point", "at least", "1 K", "a hygrometer that is 5 % off is off by about 1 K of dew point"),
    Safe("cut comb", "keeps", "at most", "180 d", "about six months in a cool, dry place (US National Food Safety Database)"),
    Safe("cut comb", "drain to pack", "at most", "24 h", "drained comb takes up water and smells"),
    Safe("cut comb", "warmest to cut", "at most", "35 °C", "comb softens long before wax melts; warmer it tears"),
    Safe("cut comb", "looked through by", "at most", "24 h", "a larva runs from package to package in days"),
    Safe("chunk honey", "heat to", "at most", "71 °C", "honey is never heated over 160 °F (Farmers' Bulletin 447)"),
    Safe("chunk honey", "pour at", "at most", "49 °C", "comb softens from 49 °C"),
    Safe("chunk honey", "sold within", "at most", "30 d", "comb seeds granules in the liquid round it"),
    Safe("every lot", "work-up limit", "at most", "7 d", "moth eggs hatch within it, and honey held over five days with beetle is likely damaged"),
    Safe("every lot", "work-up limit where it sets", "at most", "4 d", "rape sets in the comb within days"),
    Safe("every lot", "work-up limit with beetle", "at most", "55 h", "beetle eggs hatch in 61 h at 21 °C, less a tenth (J. Econ. Entomol. 2011)"),
    Safe("every lot", "work-up limit in a hot room", "at most", "25 h", "they hatch in 28 h at 30 °C, less a tenth (19.1 degree days over 13.5 °C)"),
    Safe("every lot", "hot room", "at most", "30 °C", "above it the hot limit has to hold"),
    Safe("every lot", "drying temperature", "at most", "35 °C", "comb in the boxes softens and sags"),
    Safe("every lot", "drying humidity", "at most", "49 %", "beetle eggs hatch from 50 % up (USDA ARS 112437)"),
    Safe("every lot", "capped at least", "at least", "67 %", "two thirds capped is the least that is in use"),
    Safe("every lot", "yeast asked from", "at most", "19 %", "from 19 % ten cells in a gram are enough to ferment"),
    Safe("every lot", "close up by", "at most", "1 h", "open honey starts robbing within minutes"),
    Safe("extracted honey", "warm room", "at most", "38 °C", "the warmest in use for supers; comb softens from 49 °C"),
    Safe("extracted honey", "warming look", "at most", "72 h", "nobody looks later than that at warm supers"),
    Safe("extracted honey", "hive-warm for", "at most", "24 h", "cold honey tears the cells"),
    Safe("extracted honey", "damp room", "at most", "60 %", "honey of 18.4 % is at rest with it; damper air wets ripe honey"),
    Safe("wet frames", "clean in the open", "is", False, "forbidden in several places, starts robbing and spreads disease"),
    Safe("wet frames", "after dusk", "at most", "20 min", "later bees crawl in the dark and make stings likely"),
    Safe("wet frames", "give back by", "at most", "7 d", "wet boxes ferment, drip and draw moth"),
    Safe("colony", "flight temperature", "at least", "10 °C", "bees do not fly below 10 to 13 °C"),
    Safe("wet frames", "cluster temperature", "at least", "7 °C", "below 7 to 10 °C they hardly move"),
    Safe("dry comb", "moth stops below", "at most", "5 °C", "moth is at rest below 5 °C, only slow below 15 °C"),
    Safe("dry comb", "longest interval", "at most", "42 d", "every four to six weeks"),
    Safe("dry comb", "interval where the store is unknown", "at most", "42 d", "every four to six weeks"),
    Safe("spring", "airing", "at least", "1 d", "fumigated comb is aired out before it goes on a colony; the label decides"),
    Safe("spring", "syrup wait", "at least", "7 d", "no syrup ends up in supers"),
    Safe("colony", "syrup not below", "at least", "10 °C", SYRUP),
    Safe("colony", "winter days at least", "at least", "3 °C", "oxalic acid outside at 3 to 4 °C or more"),
    Safe("colony", "winter stores", "at least", "14 kg", "the least that is asked for in any climate"),
    Safe("colony", "treatment by", "at most", "28 d", "late summer is the key month in the north"),
    Safe("colony", "counted again after", "at least", "10 d", "mites go on falling"),
    Safe("treatments", "formic acid days at most", "at most", "29.5 °C", "over it brood and queens are lost (label Vm 40476/4000)"),
    Safe("treatments", "formic acid days at least", "at least", "10 °C", "the label's lower end"),
    Safe("treatments", "formic acid length", "at least", "7 d", "seven days in the hive (label Vm 40476/4000)"),
    Safe("treatments", "thymol days at most", "at most", "30 °C", "not where the day is warmer (AN 01911/2010)"),
    Safe("treatments", "thymol mean at least", "at least", "15 °C", "no effect below it (AN 01911/2010)"),
    Safe("treatments", "oxalic acid days at least", "at least", "3 °C", "outside at least 3 °C"),
    *(Safe("treatments", f"{one} longest", "at most", "56 d", "over eight weeks feeds resistance") for one in ("amitraz", "tau-fluvalinate", "coumaphos")),
    *(Safe("treatments", f"{one} wait", "at least", "14 d", "strips out 14 d or more before supers") for one in ("amitraz", "coumaphos", "other")),
    *(
        Safe("treatments", f"{one} {what}", "is", False, "only where its label says so")
        for one in ("formic acid", "thymol", "oxalic acid", "amitraz", "tau-fluvalinate", "coumaphos", "hop beta acids", "other")
        for what in ("fed", "supers")
    ),
)  # fmt: skip


def unsafe(rules: Rules) -> Iterator[str]:
    """What lies past its safe end, by "set/parameter"."""
    for row in TABLE:
        value = rules.parameters[row.of][row.name].value
        bound = row.bound if isinstance(row.bound, bool) else parse(row.bound, dimension_of(row.bound))
        if isinstance(bound, bool) or isinstance(value, bool | str):
            wrong = value != bound
        else:
            wrong = value < bound - 1e-9 if row.end == "at least" else value > bound + 1e-9
        if wrong:
            yield f"{row.of}/{row.name}"


@pytest.mark.parametrize("names", [[], *([name] for name in overlays())], ids=str)
def test_no_number_lies_past_its_safe_end(names: list[str]) -> None:
    """In the bundled rules alone, and with each overlay."""
    assert list(unsafe(load(names))) == []


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row.of}/{row.name}")
def test_a_number_past_its_safe_end_is_found(row: Safe) -> None:
    """Each row, with a yard's own number a tenth past the end; what kills moth is refused before."""
    if isinstance(row.bound, bool):
        past: object = not row.bound
    else:
        number, _, unit = row.bound.partition(" ")
        past = f"{float(number) + abs(float(number)) * (-0.1 if row.end == 'at least' else 0.1):g} {unit}"
    changes = {row.of: {"parameters": {row.name: past}}}
    if load().sets[row.of].parameters[row.name].may_be_made:
        with pytest.raises(Refused, match="is milder than"):
            load(changes=changes)
    else:
        assert list(unsafe(load(changes=changes))) == [f"{row.of}/{row.name}"]


def test_what_is_sold_or_poured_carries_its_cautions() -> None:
    """A card that labels for sale warns of infants and names local codes; hot honey, wax and acids warn at their step."""
    said = {card.name: set(card.card.caution) for card in load().cards}
    wanted = {
        **{key: {"infants", "selling food"} for key in ("label", "label jars", "label chunk jars")},
        **{key: {"scald"} for key in ("warm the honey", "fill jars", "warm jars")},
        **{key: {"treatment label", "acid treatments", "treated colonies", "stings"} for key in ("treatment", "winter treatment")},
        **{key: {"alcohol wash", "stings"} for key in ("mite count", "count again")},
        **{key: {"hot syrup", "wasps"} for key in ("feed", "feed after treatment")},
        **{key: {"live larva"} for key in ("pack", "open and look", "freeze again")},
        **{key: {"wasps", "bears"} for key in ("keep wet", "keep supers off")},
        **{key: {"bears"} for key in ("store", "keep whole", "stores check")},
        "give back": {"stings", "lifting", "wasps"},
        "render wax": {"wax and flame", "mains near water", "scald"},
        "spin": {"moving parts", "hot tools", "mains near water", "food handling"},
        "fumigate": {"fumigant", "carbon dioxide", "dry ice"},
    }
    assert {name: sorted(cautions - said.get(name, set())) for name, cautions in wanted.items() if cautions - said.get(name, set())} == {}
