"""The words that tell what a calendar brought, what was not taken from it and why, and what a watch does with alerts."""

SYNC = {
    "of an entry": "{title}: {says}",
    "entries made anew": "Some of what was sent before could not be read. These entries were made anew: their dates may move.",
    "entries of another ledger": (
        "{entries} entries of another ledger are there under the same names and were left alone. Give this yard a calendar of its own: "
        "afterpull sync --name NAME"
    ),
    "older copy": (
        "this ledger holds {facts} facts, and the calendar was written when it held {written}: it is an older copy, and this would put its old plan "
        "in place of the newer one"
    ),
    "many moved": "{entries} entries were moved in the calendar at once: this would put off the work of all of them",
    "not taken": "{fault}; the calendar's word was not taken",
    "ticked before its end": "was ticked {at}, but its hold runs until {until}; the agenda asks about it",
    "begun by a tick": "begun {at}, its hold runs",
    "done by a tick": "done {at}",
    "skipped but done": "was skipped in the ledger, but somebody did it: it counts as done",
    "tick taken back": "the tick was taken back in the calendar; it stays done until you say: afterpull undo",
    "percentage of no units": "{percent} % done by the calendar, which keeps that; the ledger counts units, and this task has none",
    "more done by percentage": "{more} of {count:g} more are done",
    "follows from its hold": "its closing work follows from its hold, so it was moved back",
    "closing work follows": "closing work follows from its hold, so it was moved back",
    "cannot start": "cannot start {at}, so it was moved back: afterpull why {task}",
    "put off by a move": "put off until {at}",
    "planned after a move": "planned for {at}",
    "words changed": "{fields} changed in the calendar; afterpull writes its own there. Add words of your own as another entry",
    "entry deleted": "was deleted in the calendar and put back; what shall not be done: afterpull skip {task} --because WHY",
    "entry cancelled": "was cancelled in the calendar and stands; what shall not be done: afterpull skip {task} --because WHY",
}
WATCH = {
    "answer to nothing known": "an answer to what this ledger does not know: {key}",
    "told late": "late by {late}: {alert}",
    "another watch took over": "another watch had taken over; perhaps sent twice: {alert}",
    "no plan": "no plan, by a fault in afterpull: {fault}",
}
SYNCED = {**SYNC, **WATCH}
