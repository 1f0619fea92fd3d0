"""The first yard file: what was asked, and every other key as a comment with a value to change."""

from __future__ import annotations

import os
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

_UNITS = {
    "metric": {"warm": "21 °C", "cold": "-18 °C", "space": "90 L", "rate": "9 kg/day", "tank": "50 L", "base": "10 °C", "sum": "130 °C d"},
    "us": {"warm": "70 °F", "cold": "0 °F", "space": "24 gal", "rate": "20 lb/day", "tank": "13 gal", "base": "50 °F", "sum": "234 °F d"},
}


def system_zone() -> str:
    """The IANA name of this machine's zone, or UTC where it can not be told."""
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
    """A yard file for a place. Seasons are left as comments: only the keeper knows them, and nothing is assumed."""
    one = _UNITS[units]
    return f"""\
# Your yard. What is left out is not assumed; every quantity carries its unit, metric or US.
yard: {_quoted(name)}
place: {{latitude: {latitude:g}, longitude: {longitude:g}, timezone: {timezone}}}
units: {units}
hands: {{mon-fri: "17:30-21:30", sat-sun: "08:00-20:00"}} # when you are free; "2026-08-15": none is a day off
room: {{temperature: {one["warm"]}, humidity: 55 %}} # where the honey is worked; measure both
equipment:
  freezer: {{temperature: {one["cold"]}, space: {one["space"]}, freezing capacity: {one["rate"]}, air: still}} # by its own thermometer and plate
  drain rack: {{pieces: 24}}
  settling tank: {{volume: {one["tank"]}}}
# store: {{temperature: {one["warm"]}, humidity: 60 %}} # where dry comb stands in winter
season: {{}} # the usual days where you are; what you observe overrules them
#  main flow begins: 10 May
#  main flow ends: 20 July
#  robbing: 25 July to 15 October
#  first frost: 14 October
#  last frost: 25 April
# degree days: {{method: sine, base: {one["base"]}, from: 1 January, marks: {{spring bloom: {one["sum"]}}}}} # for example
limits: {{moisture: 18.6 %}} # the grade limit in the US; 20 % in the EU; see your local code
# people: {{Kim: {{hands: {{sat: "09:00-13:00"}}, takes: [pack, label, apiary]}}}} # who else works, when, and on which cards or where
# rules: [cool temperate] # or [warm humid], where there is small hive beetle; or a file of your own
# sells: yes
"""


def _quoted(name: str) -> str:
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
