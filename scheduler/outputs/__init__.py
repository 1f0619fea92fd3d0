"""Where a plan goes: calendars, text, messages."""
