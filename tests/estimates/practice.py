"""The numbers of the trade that come with the program, as the tests of estimates give them."""

from __future__ import annotations

from scheduler.estimates.callable_estimates import PACKAGES as KNOWN
from scheduler.estimates.callable_estimates import box_of, bubble_of, freezers_of, margin_of, package_of
from scheduler.rules.load import load

TRADE = load().trade
BY = freezers_of(TRADE)  # what is usual of freezers, and what kills in them
MARGIN = margin_of(TRADE)  # K above the dew point
PACKAGES = {name: package_of(name, TRADE) for name in KNOWN}
BOXES = {frame: box_of(frame, TRADE) for frame in ("shallow", "medium", "deep")}  # m
BUBBLE = bubble_of(TRADE)  # m
