"""The words of statements on the page, where those of the shell name a command: what to tap instead, or that it is done where the page is served."""

SERVED = "on the machine that serves this page"
ON_PAGE = {
    "task begun": "{title}: begun {at}, holds until {until}. When it is over, press Done",
    "open before it": "Still open before it: {titles}. Were they done too? Each has its own button",
    "done along with it": "With it: {titles}. Done too? Take it back, tick them, and press again",
    "unanswered": (
        "{count} steps were planned weeks ago, the first for {since}, and nothing is recorded of them; they take no more hours. "
        f"Done up to when? That is recorded all at once {SERVED}"
    ),
    "treatment not chosen": (
        f'How do you treat mites this year? Write "treatment: ..." in the yard file ({{known}}), or record {SERVED} with what you treat as it begins'
    ),
    "ticked early": (
        '{title}: ticked in the calendar {at}, but it is to stay until {until}. Is it over already? Open it and press "Record the end". Else nothing is to do'
    ),
    "pull not told": (
        "{harvest} was to be pulled {at}. Are the supers off? Say so on the page of the work. Another day, or that it is not pulled at all, "
        f"is recorded {SERVED}"
    ),
    "cures in the agenda": "What would help: open it",
    "stopped by a treatment": f"Its lots are stopped. Does the label allow supers on? If so, they are let go on {SERVED}",
    "pull planned": "{harvest} is planned for {at}. When the supers are off, say so on the page of the work",
    "supers off": "{harvest}: supers off {at}. Cover them",
}
