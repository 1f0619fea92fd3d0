"""The names that expressions in rule files may read: one record for each, from which the samples of the check, what a plan gives where nothing
is said, and the list that `afterpull rules list --names` prints are made.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final, NamedTuple

from scheduler.facts.harvest import AILMENTS, BLENDED, FRAMES, KINDS, PACKAGES
from scheduler.facts.season import MARKS_AND_EDGES, SPANS

Value = float | bool | str
FIELD = re.compile(r"""("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')|(?<![\w.])([a-z]\w*)\.([a-z]\w*)\b(?!\s*\()""")
"""A name in an expression as variable and field, groups 2 and 3; what stands in quotes is matched first, as group 1."""


class RuleName(NamedTuple):
    """A name such as `lot.moisture`; numbers are SI.

    `measures` is a dimension of `quantities`, "yes or no" or "word". `sample`, which is invented, stands for it where an expression is checked.
    Where nothing is said `default` is taken; one that may be unknown has none, and is null in an expression then: `known(lot.moisture)` asks for that.
    """

    measures: str
    sample: Value
    says: str
    default: Value | None = None
    may_be_unknown: bool = False
    words: tuple[str, ...] = ()  # those that it may be, where they are few
    said: str = ""  # how a form says it aloud: one of a count ("jar"), a sentence of a yes or no; else "the lot's moisture"


_STOWED: Final = ("", "spaced", "stacked")
_LOT: Final = {
    "id": RuleName("word", "a", "Its id in the harvest file."),
    "kind": RuleName("word", "cut comb", "Its stream: as in the harvest file, or blended of several extracted lots.", words=(*KINDS, BLENDED)),
    "product": RuleName("word", "cut comb", "What the harvest file calls it: its stream, or a product of that stream which a rule set brings."),
    "frame": RuleName("word", "shallow", "The size of its frames.", words=FRAMES),
    "frames": RuleName("count", 5.0, "How many frames.", said="frame"),
    "boxes": RuleName("count", 1.0, "How many boxes they fill, as many to a box as is usual unless the harvest file says otherwise."),
    "moisture": RuleName("share", 0.174, "The water in its honey, once it was read.", may_be_unknown=True),
    "reckoned": RuleName(
        "yes or no", False, "Whether its moisture is only reckoned from the lots that met in it.", default=False, said="the moisture is reckoned"
    ),
    "met": RuleName("yes or no", False, "Whether its honey went into another lot.", default=False, said="the lot is part of another"),
    "moisture_limit": RuleName("share", 0.186, "With more water it is dried: the yard's limit, or for ling heather that of ling heather."),
    "capped": RuleName("share", 0.95, "How much of the comb is capped.", said="the lot's capped share"),
    "pieces": RuleName("count", 20.0, "Pieces of comb that are cut from it.", said="piece"),
    "packages": RuleName("count", 18.0, "Pieces that are packed by themselves.", said="package"),
    "chunk_pieces": RuleName("count", 2.0, "Pieces that go into jars of chunk honey.", said="chunk piece"),
    "jars": RuleName("count", 2.0, "Jars that its extracted honey fills.", said="jar"),
    "in_buckets": RuleName("yes or no", False, "Whether the harvest file has its honey filled into buckets.", default=False, said="the lot is in buckets"),
    "bucket": RuleName("volume", 0.02, "The volume of one bucket; the usual one where nobody said which."),
    "buckets": RuleName("count", 2.0, "Buckets that its honey fills.", said="bucket"),
    "chunk_jars": RuleName("count", 2.0, "Jars that its chunk honey fills.", said="chunk jar"),
    "piece_mass": RuleName("mass", 0.3, "The mass of one piece."),
    "piece_volume": RuleName("volume", 0.0003, "The volume of one piece without its package."),
    "package_volume": RuleName("volume", 0.0006, "The volume of one piece in its package."),
    "length": RuleName("length", 0.1, "The longer side of a piece."),
    "width": RuleName("length", 0.1, "The shorter side of a piece."),
    "thickness": RuleName("length", 0.03, "The thickness of its comb."),
    "package": RuleName("word", "clamshell", "What a piece is packed in.", words=PACKAGES),
    "stowed": RuleName("word", "", "How its packages stand in the freezer and thaw: spaced or stacked; empty where the harvest does not say.", words=_STOWED),
    "mass": RuleName("mass", 6.0, "The mass of its comb with honey, without frames."),
    "comb_temperature": RuleName("temperature", 21.0, "The comb's as it was read, else the room's.", said="the comb's temperature"),
    "comb_read": RuleName(
        "yes or no",
        False,
        "Whether the temperature of its comb was read; a fresh pull of which it was not is as warm as the hive.",
        said="the comb's temperature was read",
    ),
    "yeast": RuleName("count", 1000.0, "Yeast cells per gram, once they were counted.", may_be_unknown=True),
    "disease": RuleName("yes or no", False, "Whether disease was seen in a hive it came from.", said="disease was seen"),
    "ailment": RuleName("word", "none", "Which: none, foulbrood, slime or other.", words=("none", *AILMENTS)),
    "foulbrood": RuleName(
        "yes or no", False, "Whether foulbrood is suspected in a hive it came from, or it went through the same gear since.", said="foulbrood is suspected"
    ),
    "died": RuleName(
        "word",
        "",
        "Hives it came from whose colony died of what is not known or may be in the comb; empty where there are none.",
        said="the lot's dead colonies",
    ),
    "released": RuleName("yes or no", False, "Whether the keeper lets it go on in spite of a stop.", said="the lot is released"),
    "treated": RuleName("yes or no", False, "Whether a hive it came from was under treatment.", said="a hive was under treatment"),
    "supers_off": RuleName(
        "yes or no", False, "Whether that treatment asks for supers off, by the table of active ingredients.", said="the treatment is one with supers off"
    ),
    "beetle": RuleName("yes or no", False, "Whether small hive beetles were seen.", said="beetle was seen"),
    "larvae": RuleName("word", "", "Live larvae in its comb: seen, or over once it was frozen again and looked through; empty where none were."),
    "heather": RuleName("yes or no", False, "Whether its honey is of ling heather, a jelly that neither drains nor spins.", said="the honey is of heather"),
    "sets_soon": RuleName("yes or no", False, "Whether its honey granulates in the comb within days.", said="the honey is quick to set"),
    "without_bees": RuleName("duration", 7200.0, "How long before the pull the bees left its boxes.", said="the lot's time without bees"),
    "vessel_depth": RuleName("length", 0.4, "Honey in the settling tank; of one of about 50 L where the yard does not say (assumed).", default=0.35),
}
_HARVEST: Final = {
    "id": RuleName("word", "ridge-2", "Its name; empty for a card about the yard."),
    "hives": RuleName("count", 2.0, "Hives it came from.", said="hive"),
    "last": RuleName(
        "yes or no",
        True,
        "Whether it is the last pull of one of its hives this season; of the yard, whether one was.",
        default=True,
        said="this is the last pull",
    ),
    "more": RuleName(
        "yes or no",
        False,
        "Whether a flow is on or still to come for its hives, so that its frames go back on as supers.",
        default=False,
        said="more honey is to come",
    ),
    "under_treatment": RuleName(
        "yes or no", False, "Whether one of its hives is under a treatment now, or within the wait after it.", default=False, said="a hive is under treatment"
    ),
    "ahead": RuleName("yes or no", False, "Whether its pull is planned, and nobody said yet that the supers are off.", default=False, said="the pull is ahead"),
    "room_readied": RuleName(
        "yes or no",
        False,
        "Whether the honey room is made ready for another planned pull, first within a day.",
        default=False,
        said="the honey room is made ready",
    ),
    "freezer_readied": RuleName(
        "yes or no", False, "Whether the freezer is made ready for another planned pull, first within a day.", default=False, said="the freezer is made ready"
    ),
    "age": RuleName("duration", 3600.0, "How long ago it was pulled, at the time that is planned from.", default=0.0),
    "frames": RuleName("count", 19.0, "Frames of all its lots."),
    "boxes": RuleName("count", 2.0, "Boxes of all its lots.", said="box"),
    "lots": RuleName("count", 2.0, "How many lots."),
    "has_cut_comb": RuleName("yes or no", True, "Whether one of its lots is cut comb.", said="there is cut comb"),
    "has_extracted": RuleName("yes or no", True, "Whether one is extracted.", said="there is extracted honey"),
    "has_chunk": RuleName("yes or no", True, "Whether chunk honey is made of one.", said="there is chunk honey"),
    "chunk_mass": RuleName("mass", 1.2, "The mass of the comb that goes into jars of chunk honey, of all its lots."),
    "has_dry_comb": RuleName("yes or no", True, "Whether one is dry comb.", said="there is dry comb"),
    "foulbrood": RuleName("yes or no", False, "Whether foulbrood reaches one of its lots.", said="foulbrood is suspected in the harvest"),
    "died": RuleName(
        "word",
        "",
        "Hives of its lots whose colony died of what is not known or may be in the comb; empty where there are none.",
        said="the harvest's dead colonies",
    ),
    "queen_above": RuleName(
        "word", "", "Hives in whose supers brood or the queen was seen; empty where there are none.", said="the hives with the queen above"
    ),
}
_YARD: Final = {
    "units": RuleName("word", "metric", "The units a person reads: metric or us.", words=("metric", "us")),
    "moisture_limit": RuleName("share", 0.186, "Honey with more water is dried."),
    "refractometer": RuleName("yes or no", True, "Whether the yard has one.", said="the yard has a refractometer"),
    "open_cleaning_lawful": RuleName("yes or no", False, "Whether wet frames may be set out in the open.", said="open cleaning is lawful"),
    "open_cleaning_distance": RuleName("length", 100.0, "How far from any hive they are set out."),
    "fumigant": RuleName("yes or no", False, "Whether stored comb is fumigated.", said="stored comb is fumigated"),
    "starter_strips": RuleName("yes or no", True, "Whether frames are given strips of foundation.", said="strips are given"),
    "container_lead": RuleName("duration", 1_209_600.0, "From the order of containers to their delivery.", said="the yard's lead time of containers"),
    "sells": RuleName("yes or no", True, "Whether the yard sells.", said="the yard sells"),
}
_ROOM: Final = {
    "temperature": RuleName("temperature", 21.0, "The temperature of the room where honey is worked."),
    "humidity": RuleName("share", 0.55, "The relative humidity of its air."),
}
_STORE: Final = {
    "temperature": RuleName("temperature", 12.0, "The temperature where dry comb is kept.", may_be_unknown=True),
    "humidity": RuleName("share", 0.6, "The relative humidity of its air.", may_be_unknown=True),
}
_FREEZER: Final = {
    "temperature": RuleName("temperature", -18.0, "The air inside the first freezer, or the one that a card occupies.", may_be_unknown=True),
    "space": RuleName("volume", 0.09, "The room inside.", may_be_unknown=True),
    "air": RuleName("word", "still", "Whether a fan moves its air: still or fan.", default="still", words=("still", "fan")),
    "rated": RuleName("mass rate", 0.0001, "The freezing capacity on its plate.", may_be_unknown=True, said="the freezer's rated capacity"),
    "surface": RuleName("surface coefficient", 12.0, "The surface coefficient between its air and a package.", may_be_unknown=True),
    "error": RuleName("temperature difference", 1.0, "By how much its temperature may be off, where the yard says.", may_be_unknown=True),
    "stowed": RuleName("word", "spaced", "How packages stand in it: spaced or stacked; empty where the yard does not say.", default="", words=_STOWED),
}
_SEASON: Final = {
    name.replace(" ", "_"): RuleName("yes or no", True, f'Whether the yard knows the day of "{name}".', said=f"the yard knows {name}")
    for name in MARKS_AND_EDGES
} | {str(name): RuleName("yes or no", True, f'Whether the yard knows the span "{name}".', said=f"the yard knows {name}") for name in SPANS}
_TREATMENT: Final = {
    "chosen": RuleName("yes or no", True, "Whether the keeper said how mites are treated this season.", default=False, said="a treatment is chosen"),
    "active": RuleName("word", "formic acid", "With which active ingredient.", default="a licensed product"),
    "limits": RuleName("word", "days from 10 °C", "The temperatures it asks for, in words; empty where none are known.", default=""),
    "days_at_least": RuleName("temperature", 10.0, "The day's highest temperature as it begins.", default=-60.0),
    "days_at_most": RuleName("temperature", 29.5, "The same, at most.", default=60.0),
    "mean_at_least": RuleName("temperature", 15.0, "The mean temperature of the day as it begins.", default=-60.0),
    "length": RuleName("duration", 3_628_800.0, "How long it is in the hive; six weeks where no table says (assumed), as below.", default=3_628_800.0),
    "longest": RuleName("duration", 4_838_400.0, "How long at most.", default=4_838_400.0),
    "wait": RuleName("duration", 1_209_600.0, "From its end until supers and wet frames may go on.", default=1_209_600.0),
    "fed": RuleName("yes or no", False, "Whether syrup is fed meanwhile.", default=False, said="syrup is fed meanwhile"),
    "supers": RuleName("yes or no", False, "Whether supers may be on.", default=False, said="supers are allowed on"),
    "entrances": RuleName("word", "open to full width", "What it asks of the entrance; empty where nothing.", default=""),
}
_HIVE: Final = {
    "name": RuleName("word", "north", "Its name, in a card for each hive."),
}
_BATCH: Final = {
    "count": RuleName("count", 6.0, "Units in it: pieces, packages, frames."),
    "of": RuleName("count", 2.0, "How many batches there are."),
    "mass": RuleName("mass", 1.8, "The mass of its comb with honey."),
    "volume": RuleName("volume", 0.004, "The volume it takes packed."),
}

_TRADE: Final = {
    "kills_from": RuleName("temperature", -6.7, "Comb as cold as this to its middle loses every stage of wax moth, within the time below."),
    "kills_within": RuleName("duration", 16_200.0, "That time."),
    "kills_sooner_from": RuleName("temperature", -12.2, "Comb as cold as this loses it sooner."),
    "kills_sooner_within": RuleName("duration", 10_800.0, "That time."),
    "kills_soonest_from": RuleName("temperature", -15.0, "Comb as cold as this loses it soonest."),
    "kills_soonest_within": RuleName("duration", 7_200.0, "That time."),
    "thermometer_off_by": RuleName("temperature difference", 1.5, "By how much a freezer is warmer than a thermometer says that is read now and then."),
    "logger_off_by": RuleName("temperature difference", 0.5, "The same of a logger."),
    "new_food_a_day": RuleName("mass rate", 5.6e-5, "What each 100 L of a freezer without a plate freeze in a day."),
    "new_food_a_day_at_the_least": RuleName("mass rate", 3.7e-5, "The slow end of that."),
    "power_of_a_small_freezer": RuleName("power", 50.0, "What a freezer of which nothing is known takes out of a load."),
    "share_of_the_plate": RuleName("share", 0.8, "How much of the capacity on its plate a freezer has in a warm room."),
    "air_round_a_package": RuleName("length", 0.01, "Round one that stands spaced in one layer."),
    "one_layer": RuleName("area", 0.2, "Of packages, in a freezer of unknown space."),
    "large_load": RuleName("duration", 21_600.0, "A load that keeps the freezer busy for longer is large and warm."),
    "above_dew_point": RuleName("temperature difference", 2.0, "So much warmer is comb when its package is opened."),
    "box_of_wet_comb": RuleName("density", 200.0, "What comb from the extractor weighs by the room of its box, at the least."),
    "box_of_dry_comb": RuleName("density", 150.0, "The same of dry comb."),
    "box_of_honey": RuleName("density", 600.0, "From here up a box freezes as honey does."),
    "frames_in_a_box": RuleName("count", 10.0, "In a box of which the harvest file does not say."),
    "honey_of_a_shallow_frame": RuleName("mass", 1.36, "When it is full."),
    "honey_of_a_medium_frame": RuleName("mass", 1.81, "When it is full."),
    "honey_of_a_deep_frame": RuleName("mass", 2.72, "When it is full."),
    "comb_length": RuleName("length", 0.42545, "One side of the comb in a frame."),
    "comb_depth_of_a_shallow_frame": RuleName("length", 0.12065, "The other, of a shallow frame."),
    "comb_depth_of_a_medium_frame": RuleName("length", 0.142875, "Of a medium frame."),
    "comb_depth_of_a_deep_frame": RuleName("length", 0.2159, "Of a deep frame."),
    "length_of_a_box": RuleName("length", 0.46, "Of the combs in a box."),
    "width_of_a_box": RuleName("length", 0.38, "The same across them."),
    "depth_of_a_shallow_box": RuleName("length", 0.144, "Of the box, not of its frames."),
    "depth_of_a_medium_box": RuleName("length", 0.168, "The same of a medium one."),
    "depth_of_a_deep_box": RuleName("length", 0.244, "The same of a deep one."),
    "wall_of_film": RuleName("thermal resistance", 0.0003, "How a wrapping of film insulates."),
    "film_adds": RuleName("length", 0.002, "To each side of a piece."),
    "wall_of_a_clamshell": RuleName("thermal resistance", 0.16, "How its wall and the air within insulate."),
    "a_clamshell_adds": RuleName("length", 0.012, "To each side of a piece."),
    "wall_of_a_carton": RuleName("thermal resistance", 0.0615, "How its wall insulates."),
    "a_carton_adds": RuleName("length", 0.01, "To each side of a piece."),
    "usual_bucket": RuleName("volume", 0.02, "A bucket of which nobody said how large it is."),
    "settled_bubble": RuleName("length", 0.0002, "The smallest bubble that is waited for in the tank."),
    "comb_share": RuleName("share", 0.6, "How much of a jar of chunk honey is comb, at least."),
    "usual_moisture": RuleName("share", 0.17, "The water in honey that nobody read."),
    "always_keeps_under": RuleName("share", 0.171, "With less water no honey ferments."),
    "keeps_with_1000": RuleName("share", 0.18, "Up to this water none does with fewer than 1000 yeasts in a gram."),
    "keeps_with_10": RuleName("share", 0.19, "The same with fewer than 10."),
    "keeps_with_1": RuleName("share", 0.2, "The same with fewer than 1."),
    "usual_freezer_temperature": RuleName("temperature", -18.0, "Of a freezer that nobody read."),
    "drained_within": RuleName("duration", 86_400.0, "How long cut comb drains, the slow end of practice, at the temperature and with the water below."),
    "drained_at": RuleName("temperature", 21.0, "The temperature of that."),
    "drained_moisture": RuleName("share", 0.17, "The water in the honey of that."),
    "quick_moth_from": RuleName("temperature", 24.0, "In a store as warm as this stored comb is looked through each quick interval."),
    "quick_interval": RuleName("duration", 604_800.0, "That interval."),
    "slow_moth_from": RuleName("temperature", 10.0, "In a cooler one, as warm as this, each slow interval."),
    "slow_interval": RuleName("duration", 1_814_400.0, "That interval."),
    "moth_stops_below": RuleName("temperature", 5.0, "In a store colder than this moth is at rest."),
    "longest_interval": RuleName("duration", 3_628_800.0, "Between two looks in a store that is hardly warmer."),
    "moth_eggs_from": RuleName("temperature", 10.0, "Wax moth eggs develop above this."),
    "moth_eggs_after": RuleName("degree days", 85.0, "The first may hatch, counted above that."),
    "moth_eggs_at_the_latest": RuleName("degree days", 240.0, "The last have hatched."),
    "hot_moth_eggs_from": RuleName("temperature", 29.0, "As warm as this the first may hatch within the time below."),
    "hot_moth_eggs_after": RuleName("duration", 259_200.0, "That time."),
    "beetle_eggs_from": RuleName("temperature", 13.5, "Small hive beetle eggs develop above this."),
    "beetle_eggs_after": RuleName("degree days", 19.1, "They hatch, counted above that."),
    "beetle_eggs_at_the_latest": RuleName("degree days", 19.7, "The last have hatched."),
    "beetle_eggs_sooner_by": RuleName("share", 0.1, "The first may hatch so much sooner."),
    "beetle_eggs_dry_under": RuleName("share", 0.5, "In air that is drier they do not hatch."),
    "flow_gain": RuleName("mass", 0.5, "A hive that gains as much a day is in a flow."),
    "dearth_loss": RuleName("mass", 0.1, "One that loses as much a day is in a dearth."),
    "scale_step": RuleName("mass", 1.0, "A change of a hive scale that stands out by more is left out."),
    "scale_days": RuleName("duration", 604_800.0, "The days of which the middle change is taken."),
    "scale_days_read": RuleName("count", 5.0, "So many changes in these at the least."),
    "dearth_run": RuleName("duration", 604_800.0, "How long a dearth goes on before it is called one."),
    "flow_likely_over_after": RuleName("duration", 604_800.0, "Days without flow after which it is likely over."),
    "flow_over_after": RuleName("duration", 1_209_600.0, "Days without flow after which it is over."),
    "flight_temperature": RuleName("temperature", 12.0, "Bees fly on days as warm as this."),
    "capped_at_least": RuleName("share", 0.8, "How much of the comb is capped when it is pulled."),
    "treatment_by": RuleName("duration", 1_814_400.0, "From the last pull to the treatment against mites."),
    "interval_where_the_store_is_unknown": RuleName("duration", 1_814_400.0, "Between two looks where nobody knows how warm it is."),
}

NAMES: Final[dict[str, dict[str, RuleName]]] = {
    "lot": _LOT,
    "harvest": _HARVEST,
    "yard": _YARD,
    "room": _ROOM,
    "store": _STORE,
    "freezer": _FREEZER,
    "season": _SEASON,
    "treatment": _TREATMENT,
    "hive": _HIVE,
    "batch": _BATCH,
    "trade": _TRADE,
}
"""By the variable they belong to; `param` is added for each rule set from its own parameters."""
SAMPLES: Final[dict[str, dict[str, Value]]] = {of: {field: name.sample for field, name in fields.items()} for of, fields in NAMES.items()}


def filled(of: str, said: Mapping[str, Any]) -> dict[str, Value | None]:
    """The fields of a variable from what is said of each; None where that is nothing. Raises `ValueError` for one that is never unknown."""
    found = {field: name.default if said.get(field) is None else said.get(field) for field, name in NAMES[of].items()}
    if missing := [field for field, value in found.items() if value is None and not NAMES[of][field].may_be_unknown]:
        raise ValueError(f"{of}: nothing is said of {', '.join(missing)}")
    return found


def reads(text: str, of: str, field: str) -> bool:
    """Whether an expression reads a name, such as `season.robbing`."""
    return any((match[2], match[3]) == (of, field) for match in FIELD.finditer(text))
