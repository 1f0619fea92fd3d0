"""The numbers of the trade that come with the program, as the tests of estimates give them."""

from __future__ import annotations

from scheduler.estimates.callable_estimates import bubble_of, freezers_of, margin_of
from scheduler.rules.load import load

TRADE = load().trade
BY = freezers_of(TRADE)  # what is usual of freezers, and what kills in them
MARGIN = margin_of(TRADE)  # K above the dew point
BUBBLE = bubble_of(TRADE)  # m
