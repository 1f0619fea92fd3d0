"""The words that answer a keeper: what was written down of tasks, hives, lots and marks, what a calendar brought, and what is asked along with it."""

TASKS = {
    "task done": "{title}: done {at}{doubt}",
    "hold not over": "; its hold was to last until {until}, so it may not have done its work",
    "task done in part": "{title}: {amount:g} done {at}, {left:g} left",
    "done of hives": "{title}: {hives} done {at}. Left: {left}",
    "worked on": "{title}: worked on it for {worked} {at}, {left} left",
    "task begun": "{title}: begun {at}, holds until {until}. When it is over: done again",
    "task skipped": "{title}: skipped, {because}",
    "task put off": "{title}: put off until {until}",
    "open before it": "Still open before it: {tasks}. Were they done too? afterpull done {typed}",
    "done along with it": "With it: {tasks}. Done too? afterpull done {typed}",
}
HIVES = {
    "foulbrood not confirmed": "Foulbrood in {hive}: not confirmed. What it stopped goes on",
    "foulbrood suspected": (
        "Foulbrood suspected in {hive}. Close the hive, make its entrance small, clean or change gloves and tools, and move nothing. "
        "Ring the bee inspector now{inspector}. Stopped: {stopped}"
    ),
    "reached by": ": {inspector}",
    "colony died": (
        "{hive} died{of}. Close the hive against robbers and keep its comb shut, apart and marked. It goes onto no other hive until the cause is known: "
        "afterpull observe died --of {hive} --cause starved. Sunken caps, a foul smell or brood that ropes: ring the bee inspector. Stopped: {stopped}"
    ),
    "of a cause": " ({cause})",
    "colony died of": "{hive} died ({cause}). Close the hive against robbers. What its death stopped goes on; look at each comb before bees get it",
    "treatment ended": "Treatment of {hive} ended {at}. Supers and wet frames again {wait} later",
    "treatment began": (
        "Treatment of {hive}{active} began {at}. No super and no wet frame goes on until it is over and {wait} after it{unfed}; the label overrules"
    ),
    "with an active ingredient": " with {active}",
    "no feed meanwhile": ", and no feed while it is in",
    "lot goes on": "{lot} goes on ({stop}): {because}{comb}",
    "not as comb": ". As comb it goes on only where the label lets supers stay on; afterpull agenda shows it",
    "queen above": (
        "Queen or brood in a super of {hive}, with {harvest}: shake or brush the bees of that box back into their hive, the queen may be among them. "
        "The agenda asks for a look for eggs below"
    ),
    "larvae gone": "No live larva in {lot} any more. What it stopped goes on",
    "larva seen": "A live larva in {lot}: sell none of it. Open every package and look, then freeze all of it again with its full hold",
}
QUESTIONS = {
    "more to come or not": (
        '{harvest}: does more come from these hives this season? It is taken as {taken}. Write "more to come: yes" or "no" in its file and log it again.'
    ),
    "the last pull": "the last pull of its hives this season",
    "not the last pull": "not the last pull of its hives",
    "pulled under a treatment": "{harvest}: {hive} was under a treatment{active} or within its wait (since {begun}). {asked}",
    "label allows supers or not": "Does its label allow supers on? If not: treated: yes on each lot.",
    "stopped by a treatment": "Its lots are stopped. Does the label allow supers on? If so: afterpull release LOT --because ...",
}
SEEN = {
    "pull planned": "{harvest} is planned for {at}. When the supers are off: afterpull pulled {harvest}",
    "pull moved": "{harvest} is planned for {at} now, not for {was}",
    "file as it was": "{path} still has the day of before, in line {line}. Change it there too: logged again as it is, that file moves the pull back",
    "supers off": "{harvest}: supers off {at}. Cover them. What follows: afterpull agenda",
    "file as planned": "{path} still says what was planned; the ledger has what came off.",
    "wanted": "{count} {what} of {lot} are wanted by {at}. What follows: afterpull agenda",
    "wanted listed": "{at}: {count} {what} of {lot}; not any more: afterpull want --withdraw {name}",
    "want withdrawn": "{name} is not wanted any more; nothing is taken out for it",
    "want too early": "it cannot be ready by then; by {at} it can",
    "want without time": "no time was found for it",
    "lots met": "{lots} are one lot since {at}: {made}.{share}{over} Read its moisture; its record names them all",
    "reckoned": " Together {share} of water, reckoned.",
    "over the limit together": " That is over {limit}, so it is not bottled yet.",
    "mark seen at": "{mark} at {apiary}: seen on {on:iso}",
    "mark seen": "{mark}: seen on {on:iso}",
    "reading recorded": "{measure} of {of}: {written}",
    "taken back": "Taken back: {what}",
    "told of": "{kind} {about}, of {at}",
    "harvest withdrawn": "Withdrawn: {harvest}. What was done of it stays recorded. To have it back: afterpull log {path}",
}
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
TOLD = {**TASKS, **HIVES, **QUESTIONS, **SEEN}
SYNCED = {**SYNC, **WATCH}

# On the page, where those of the shell name a command: what to tap instead.
ON_PAGE = {
    "to mind and say": "{says}",
    "task begun": "{title}: begun {at}, holds until {until}. When it is over, press Done",
    "open before it": "Still open before it: {titles}. Were they done too? Each has its own button",
    "done along with it": "Not ticked: {titles}",
    "unanswered": (
        "{count} steps were planned weeks ago, the first for {since}, and nothing is recorded of them; they take no more hours. "
        "Done up to when? Say so on the page of the work, under All as planned"
    ),
    "treatment not chosen": (
        'How do you treat mites this year? Write "treatment: ..." in the yard file ({known}), or say on the page of the hives with what you treat as it begins'
    ),
    "ticked early": (
        '{title}: ticked in the calendar {at}, but it is to stay until {until}. Is it over already? Open it and press "Record the end". Else nothing is to do'
    ),
    "pull not told": (
        "{harvest} was to be pulled {at}. Are the supers off? Say so on the page of the work, under To be pulled. Move it to another day there, "
        "or say that it will not be pulled"
    ),
    "told of": "{about}: {kind}, {at}",
    "waits too long": '{title}: should follow "{before}" within {greatest}; planned {over:days} too late',
    "held too long": "{title}: once it is over it may stand for {most} more; planned to end {over:days} too late",
    "late": "{title}: due {limit}, planned for {finish}, {late:days} late. {cure}",
    "due before the plan": "It is overdue: do it first, or record when it was done.",
    "cures in the agenda": "What would help is being looked for. It appears here",
    "stopped by a treatment": "Its lots are stopped. Does the label allow supers on? If so, let each go on, on the page of its record",
    "pull planned": "{harvest} is planned for {at}. When the supers are off, say so on the page of the work",
    "supers off": "{harvest}: supers off {at}. Cover them",
    "colony died": (
        "{hive} died{of}. Close the hive against robbers and keep its comb shut, apart and marked. It goes onto no other hive until the cause is known: "
        "record it once more then, with the cause. Sunken caps, a foul smell or brood that ropes: ring the bee inspector. Stopped: {stopped}"
    ),
    "not as comb": ". As comb it goes on only where the label lets supers stay on",
}
