"""Files afterpull writes for a keeper: the first yard file, with every other key as a comment, a harvest given in a few words, and a rule file of their own."""

from __future__ import annotations

import json
import os
import re
import string
from collections.abc import Container, Iterable, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from scheduler.diagnostics import Fault
from scheduler.facts.days import MONTHS
from scheduler.facts.harvest import FRAMES, KINDS, Harvest, Lot
from scheduler.outputs.text.normals_text import normals_text

_UNITS = {
    "metric": {"warm": "21 °C", "cold": "-18 °C", "space": "90 L", "taken": "30 L", "rate": "9 kg/day", "tank": "50 L", "base": "10 °C", "sum": "130 °C d"},
    "us": {"warm": "70 °F", "cold": "0 °F", "space": "24 gal", "taken": "8 gal", "rate": "20 lb/day", "tank": "13 gal", "base": "50 °F", "sum": "234 °F d"},
}
_DISTANCE = {"metric": "100 m", "us": "330 ft"}
_SEASON = (
    ("main flow begins", "10 May"),
    ("main flow ends", "20 July"),
    ("robbing", "25 July to 15 October"),
    ("beetle", "1 May to 30 September"),
    ("treatment", "25 July to 30 September"),
    ("first frost", "14 October"),
    ("last frost", "25 April"),
    ("first warm day", "20 March"),
    ("last warm day", "20 October"),
    ("spring bloom", "20 April"),
)

_NONE = {"robbing": " # or none", "first frost": " # or none, where none comes", "last warm day": " # or none, where bees fly all winter"}


def system_zone() -> str:
    """The IANA name of this machine's zone, or UTC where it cannot be told."""
    named = os.environ.get("TZ", "").lstrip(":")
    link = Path("/etc/localtime")
    candidates = [named, "/".join(link.resolve().parts[-2:]) if link.is_symlink() else "", "/".join(link.resolve().parts[-3:]) if link.is_symlink() else ""]
    written = Path("/etc/timezone")
    candidates += [written.read_text().strip()] if written.is_file() else []
    for name in filter(None, candidates):
        try:
            ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            continue
        return name
    return "UTC"


def yard_text(name: str, latitude: float, longitude: float, timezone: str, units: str) -> str:
    """A yard file for a place, its samples in that half of the year's round. Seasons are left as comments: only the keeper knows them."""
    one, south = _UNITS[units], latitude < 0
    season = "\n".join(f"#  {mark}: {_moved(days, south)}{_NONE.get(mark, '')}" for mark, days in _SEASON)
    months = normals_text({}, latitude, units).rstrip()
    return f"""\
# yaml-language-server: $schema=yard.schema.json
# Your yard. What is left out is not assumed; every quantity carries its unit, metric or US. An editor completes the keys after:
# afterpull rules schema yard > yard.schema.json
# A line that begins with # is not in force; take the # away, and write what is so where you are.
yard: {_quoted(name)}
place: {{latitude: {latitude:g}, longitude: {longitude:g}, timezone: {timezone}}}
units: {units}
hands: {{mon-fri: "17:30-21:30", sat-sun: "08:00-20:00"}} # when you are free; "2026-08-15": none is a day off
#slack: 20 min # of each day's free hours, kept free at their end
#evenings missed: 10 % # of your days, where you ask how likely a plan is: afterpull agenda --odds; without it counted, once 20 days with work are over
#quiet: "22:00-07:00" # no alarm then: it comes the evening before or in the morning, unless food or crop is lost by then
#people: {{Kim: {{hands: {{sat: "09:00-13:00"}}, takes: [pack, label, apiary]}}}} # who else works, when, and on which cards or where
#apiaries: {{Garden: {{travel: 0 min, hives: [north, ridge]}}}} # where the hives stand, if at several places; each with place and way from the honey room
room: {{temperature: {one["warm"]}, humidity: 55 %}} # where the honey is worked; measure both
#store: {{temperature: {one["warm"]}, humidity: 60 %}} # where dry comb stands in winter
equipment:
  freezer: {{temperature: {one["cold"]}, space: {one["space"]}, freezing capacity: {one["rate"]}, air: still}} # by its own thermometer and plate
  drain rack: {{pieces: 24}}
  settling tank: {{volume: {one["tank"]}}}
#  extractor: {{available: {{"2026-08-15": "09:00-13:00"}}}} # when there is a club's, or any that is not always yours
#reserved: [{{equipment: freezer, from: 2026-11-01, to: 2026-11-20, space: {one["taken"]}, for: fruit}}] # what else needs the room
season: # the usual days where you are; what you observe overrules them
{season}
#  blooms: {{willow: spring bloom}} # plants whose first bloom gives you a date: observe first bloom of willow
#degree days: {{method: sine, base: {one["base"]}, from: {_moved("1 January", south)}, marks: {{spring bloom: {one["sum"]}}}}}
{months}
limits: {{moisture: 18.6 %}} # the grade limit in the US; 20 % in the EU; see your local code
#rules: [cool temperate] # or [warm humid], where there is small hive beetle; or a file of your own
#changes: {{cut comb: {{parameters: {{drain to pack: 8 h}}}}}} # a number of a rule that is otherwise with you
#refractometer: none # then capped share and a shake test stand in for readings
#container lead: 10 d # how long jars and packages take to come
#treatment: formic acid # the active ingredient you treat mites with, by its label
#sells: no
#market: {{sat: "08:00-13:00"}} # when you sell: afterpull want 12 packages of a by market
#starter strips: yes
#inspector: how you reach the bee inspector
#fumigant: yes # only what its label and your local code allow
#open cleaning: {{lawful: yes, distance: {_DISTANCE[units]}}} # wet frames set out in the open, and how far from any hive
"""


def _moved(days: str, south: bool) -> str:
    """A day or a span of the northern half of the earth, half a year on in the southern."""
    months = [month.title() for month in MONTHS]
    return " ".join(months[(months.index(word) + 6) % 12] if south and word in months else word for word in days.split())


def rules_text(name: str, today: date) -> str:
    """A rule file of the keeper's own that works: one number, one card, one scenario, each with what may be written instead."""
    return f"""\
# yaml-language-server: $schema=rules.schema.json
# Your own rules. To check them: afterpull rules check FILE, and: afterpull rules test FILE. To plan with them name this
# file in the yard file: rules: [cool temperate, FILE]. An editor completes the keys after: afterpull rules schema > rules.schema.json
ruleset: {name}
version: 1
describes: What is done at my place and nowhere else.

parameters:
  photographing:
    value: 10 min
    basis: assumed # or "common practice", or "published" with its source
    checked: {today}

tasks:
  photograph: # the name of the card; its task is ridge-2/a/photograph
    title: "Photograph the comb of lot {{lot.id}}" # 38 characters at most
    how: In daylight, before it is cut # what stands first in a reminder
    for: cut comb # or chunk honey, extracted, dry comb, harvest, yard, apiary, hive
    after: close up # or [close up, dry down], or {{close up: within 2 h}}
    # earliest: 3 d after the pull
    # due: 14 d before first frost
    # window: on sat-sun # or dusk, outside robbing, days at least 12 °C, 08:00-20:00
    # repeat: every 7 d, 4 times, until first frost
    hands: $photographing
    place: honey room # or apiary, store, anywhere
    loss: comfort # or crop, colony, food safety: what is lost where it comes late
    why: Pictures of whole combs sell the packages.

# What comes with the program is changed here, a number or a card at a time: afterpull rules list, afterpull rules show SET/CARD
# changes:
#   cut comb:
#     parameters: {{drain floor: 18 h}}
#     without: []

scenarios: # a pull on Tuesday 11 August 2026 at 10:30; hands are free from 17:30 to 21:30
  - name: combs are photographed after the boxes are closed
    expect:
      photograph: {{count: 1, start: after close up}}
  - name: where there is no cut comb there is nothing to photograph
    given: {{lots: [{{id: b, kind: extracted, frames: 10, frame: medium, moisture: 17.4 %}}]}}
    expect:
      photograph: {{exists: false}}
"""


SAMPLE = "'cut comb 5 shallow 17.4%' or 'extracted 14 medium'"
_LOT = re.compile(rf"(?P<kind>\D+?)\s+(?P<frames>\d+)\s+(?P<frame>{'|'.join(FRAMES)})(?:\s+(?P<moisture>\d+(?:\.\d+)?)\s*%)?")


def harvest_text(
    name: str, pulled: int, zone: ZoneInfo, hives: Sequence[str], lots: Sequence[str], apiary: str | None = None, products: Iterable[str] = ()
) -> str:
    """The harvest file for a name, the moment of the pull, hives and lots in words, and the apiary where the hives do not say it.

    Checked like any file when it is logged.
    """
    if not lots:
        raise Fault("a harvest has at least one lot", f"--lot {SAMPLE}")
    at = datetime.fromtimestamp(pulled, zone)
    lines = [f"harvest: {_quoted(name)}", f"pulled: {at:%Y-%m-%dT%H:%M}", f"hives: [{', '.join(map(_quoted, hives))}]"]
    lines += [*([f"at: {_quoted(apiary)}"] if apiary is not None else []), "lots:"]
    lines += [f"  - {{{', '.join(f'{key}: {value}' for key, value in lot.items())}}}" for lot in new_lots(lots, products=products)]
    return "\n".join(lines) + "\n"


def harvest_like(like: Harvest, name: str, pulled: int, zone: ZoneInfo, frames: Mapping[str, int], *, us: bool) -> str:
    """The harvest file of a pull to come that is like another, with so many frames of each lot: what was read or seen at the other is not known yet."""
    text = [f"harvest: {_quoted(name)}", f"pulled: {datetime.fromtimestamp(pulled, zone):%Y-%m-%dT%H:%M}", f"hives: [{', '.join(map(_quoted, like.hives))}]"]
    text += [f"at: {_quoted(like.at)}"] if like.at is not None else []
    lots = [lot.model_copy(update={"settles_with": tuple(one for one in lot.settles_with if frames.get(one))}) for lot in like.lots if frames.get(lot.id)]
    text.append("lots:")
    for lot in lots:
        told = {"id": lot.id, "kind": lot.product, "frames": str(frames[lot.id]), "frame": lot.frame, **_shape(lot, us=us)}
        text.append(f"  - {{{', '.join(f'{key}: {value}' for key, value in told.items())}}}")
    return "\n".join(text) + "\n"


def _shape(lot: Lot, *, us: bool) -> dict[str, str]:
    """What a keeper chooses or knows of a lot before the pull, where it is not as usual."""
    usual = Lot(id=lot.id, kind=lot.kind, frames=lot.frames, frame=lot.frame)
    unit, size = ("in", 0.0254) if us else ("mm", 0.001)
    found = {
        "comb thickness": f"{lot.comb_thickness / size:.6g} {unit}",
        "piece": " x ".join(f"{side / size:.6g}" for side in lot.piece) + f" {unit}",
        "imperfect": f"{lot.imperfect * 100:.6g} %",
        "package": lot.package,
        "stowed": str(lot.stowed),
        "jar": f"{lot.jar * 1e6:.6g} mL",
        "buckets": f"{(lot.buckets or 0) * 1e3:.6g} L",
        "settles with": f"[{', '.join(lot.settles_with)}]",
        **dict.fromkeys(("beetle", "heather", "sets soon"), "yes"),
    }
    return {key: words for key, words in found.items() if getattr(lot, key.replace(" ", "_")) != getattr(usual, key.replace(" ", "_"))}


def new_lots(lots: Sequence[str], taken: Container[str] = (), products: Iterable[str] = ()) -> list[dict[str, str | int]]:
    """The keys of lots told in words, each under a letter that is not `taken`; `products` are those that rules bring. Raises `Fault`."""
    letters = [letter for letter in string.ascii_lowercase if letter not in taken]
    if len(lots) > len(letters):
        raise Fault(f"{len(lots)} lots are more than words on a command line can name", "a harvest file, with an id for each lot")
    kinds = [*KINDS, *products]
    return [{"id": letter, **_lot(text, kinds)} for letter, text in zip(letters, lots, strict=False)]


def _lot(text: str, kinds: Container[str]) -> dict[str, str | int]:
    match = _LOT.fullmatch(text.strip())
    if not match or match["kind"] not in kinds:
        raise Fault(f'"{text}" is not a lot', SAMPLE)
    moisture = {"moisture": f"{match['moisture']} %"} if match["moisture"] else {}
    return {"kind": match["kind"], "frames": int(match["frames"]), "frame": match["frame"], **moisture}


def _quoted(text: str) -> str:
    """A name as YAML reads it back, whatever is in it."""
    return json.dumps(text, ensure_ascii=False)
