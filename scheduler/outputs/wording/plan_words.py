"""The words of a plan: its warnings with what would cure them, and what its verifier found."""

WARNINGS = {
    "cannot be done": "{title}: {refusal}",
    "no time": "{title}: no time fits its windows and the free hours; write more hours under hands, or do it another way",
    "late": "{title}: by {limit}, planned for {finish}, {late} late. {cure}",
    "waits too long": '{title}: within {greatest} of "{before}", planned {over} later than that',
    "held too long": "{title}: it may wait {most} for hands once its hold is over, and they end it {over} later than that",
    "warm beside cold": (
        "{title}: {mass} at {warm} beside {held} could warm it to {warmed} before its kill is over ({over}), and no other hour was found that makes "
        "nothing late. What would cure it: another freezer, or starting that hold again"
    ),
    "warm beside cold and begun": (
        "{title}: {mass} at {warm} beside {held} could warm it to {warmed} before its kill is over ({over}). Start the hold of what it was set beside again"
    ),
    "hold not proved": (
        "{title}: taken out after {lasted}, and by the freezer's record {needed}. Freeze it again, or keep it where moths cannot come to other comb"
    ),
    "freezer was warm": "{title}: the freezer was warm for {warm}. Leave the load in: it keeps until {until}",
    "freezer never kills": (
        "{freezer}: from {first} to {last} its log was never colder than {coldest}. Wax moth lives on in it: {needed} or colder has to be read for "
        "{exposure:hours} at the least. Turn it to its coldest, look at door and seal, and freeze in another one meanwhile"
    ),
    "needed so long": "it needed {hold}",
    "kill not proved": "the kill is not proved: a log would prove it, or readings at most 2 h apart",
    "habit not met": (
        "{title}: taken out after {lasted}. The kill is proved by the freezer's record; the usual {habit} were not met. Nothing has to be frozen again"
    ),
    "unanswered": (
        "{count} steps were planned weeks ago, the first for {since}, and nothing is recorded of them; they take no more hours. Done up to when? "
        "afterpull done --as-planned yesterday, or the day up to which all went as planned; what was not done: afterpull skip, which drops it or puts it off"
    ),
    "no event of the sun": "{title}: there is no {event} at the yard on {day:short}, so {taken} is taken for it; look at the sky",
    "unknown mark": '"{mark}" is not in the yard file, so \'{title}\' has no date of its own: write "{mark}: ..." under season',
    "season not set": ('{span} season is not set, so this is left out: {cards}. Write "{span}: DAY to DAY" under season in the yard file, or "{span}: none"'),
    "unused equipment": 'no card uses the equipment "{equipment}": write {known}, or "kind:" with one of these',
    "unknown hive": 'the card "{card}" is for the hive "{hive}", which no harvest names: write {known}, or the hive under its apiary in the yard file',
    "nearest of": '"{word}" (known here: {known})',
    "one of": "one of: {known}",
    "treatment not chosen": (
        'How do you treat mites this year? Write "treatment: ..." in the yard file ({known}), or say it as it begins: '
        "afterpull observe treatment begins --of all --with ..."
    ),
    "ticked early": (
        "{title}: ticked in the calendar {at}, but it is to stay until {until}. Is it over already? Then: afterpull done {task} --whole. Else nothing is to do"
    ),
    "to mind": "{says}",
    "to mind and say": "{says}: {by}",
    "old word": "{at}: {message}: write {write}",
    "fault": "this plan breaks a limit of its own, which is a fault of the program: {violation}",
}
REFUSALS = {
    "no time fits": "no time fits its windows and the free hours",
    "held back": "a stop holds it back: {by}",
    "waits for the impossible": 'it waits for "{before}", which cannot be done',
    "load too large": "one load needs {needed} of the {resource}, which holds {holds}",
    "hold never ends": "the hold never ends with these values",
}
REASONS = {
    "keeper joins": "done with {person}, who would come too late alone: two take {share} of the time",
    "keeper steps in": "done by yourself: {person}, who may do it, would come too late",
    "taken by": 'done by {person}, who takes "{takes}" in the yard file',
    "no such equipment": 'the yard file has no "{equipment}" under equipment, so room for it is not counted',
    "repeated": "again {number}",
    "planned then": "nothing is recorded of it: it was planned for {start} to {finish}",
    "lapsed": "nobody recorded this look in time, so it lapsed",
    "overtaken": 'nobody recorded this, and "{by}", which it was for, has begun',
    "alongside": "a line of the checklist of: {step}",
    "hives without names": "a harvest does not name its hives, so a treatment counts for the whole apiary",
    "hive under treatment": "no super and no wet frame goes onto {hive}: under a treatment since {begun} ({active}), its wait over {free}",
    "its day is past": "{before}: it was to be done by {limit:weekday}",
    "no evening": "{before}: no evening before {limit:weekday}",
    "no hour": "{before}: no hour in its window before {limit:weekday}",
    "too cold for it": "{before}: no day warm enough for it before {limit:weekday}",
    "only at its hour inside a season": '{before}: in the season "{span}" only in its window, and no free hour lies in it before {limit:weekday}',
    "late beside": "{before}: by {limit}, and planned for {finish}",
    "put off": "put off by the keeper",
    "begun": "begun by the keeper; its hold runs since then",
    "worked on it": "{worked} of work are done",
    "done in part": "{part:g} of {count:g} are done",
    "skipped": "skipped: {because}",
    "provisional": "likely: {because}",
    "follows the provisional": 'follows "{before}", whose date is not firm',
    "no such mark": 'the yard file has no "{mark}"',
    "pull ahead": "the pull is planned for {at}; until the supers are off this is only likely",
    "harvest of no apiary": (
        "{harvest} does not say in which apiary it was pulled, so it goes by the place of the yard. Write at: one of {known}, and log it again."
    ),
    "pull not told": (
        "{harvest} was to be pulled {at}. Are the supers off? afterpull pulled {harvest} [--at T]; on another day: "
        "afterpull log its file with that day; not at all: afterpull log --withdraw {harvest}"
    ),
    "rests on a normal": "rests on the usual date of {mark}; firm once you record it",
    "hangs on a mark": "{limit} {anchor}",
    "not before a moment": "{anchor}",
    "due by a moment": "{anchor}",
    "the pull": "the pull",
    "now": "now",
    "wanted by": "the moment it is wanted",
    "mark as observed": "{mark} ({day}, observed)",
    "mark as a normal": "{mark} ({day}, usual date in the yard file)",
    "lag after": "{anchor} + {gap}",
    "lag before": "{anchor} - {gap}",
    "a day of one's own": "{day}",
    "inside a season": 'its window lies inside the season "{span}"',
    "outside a season": 'its window lies outside the season "{span}"',
    "inside days of one's own": "its window lies inside {span}",
    "outside days of one's own": "its window lies outside {span}",
    "done about": "done about {event}",
    "done in daylight": "done in daylight",
    "done on days": "done on {days} only",
    "starts after": 'starts once "{before}" allows it ({finish})',
    "waits for hands": "next free hour: {start}",
    "waits for hands of": "next free hour of {person}: {start}",
    "waits for its window": "waits for its window: {start}",
    "way there": "{place} is {way} away: the way there and back is kept free around the visit",
    "way from there": "pulled {way} away, at {place}: not before it is here",
    "leave for": "Leave for {place}, {way} away. {text}",
    "waits for equipment": "{resource} there and free from {start}",
    "waits for room": "{resource} full until {start}",
    "stays where it was": "stays where it was planned before: {start}",
    "in one go": "at {start} it is done in one go with the work before and after it",
    "starts late for what follows": "starts later so that the next step can follow in time",
}
HOLDS = {
    "estimated": "{name} {value} ({low} to {high}): {basis:; }",
    "estimate refused": "{name}: {refusal}",
    "limit": "{limit} {value}",
    "limit by a parameter": "{limit} {value}, {basis}{before}",
    "instead of": ", instead of {before}",
    "hold set by": "holds {hold}, set by the {bound}",
    "ends with a look": "computed {computed}; by {look} somebody looks, whatever the estimate says, and so far it holds",
    "floor extended": "the freezer was warmer than {limit} for {warm}, which does not count towards the floor",
    "log of the air": "{freezer} log {first} to {last}: {rows} readings, {coldest} to {warmest}{silence}{files}",
    "one reading of the air": "{freezer} log {at}: 1 reading, {read}{silence}{files}",
    "record from": "; from {files:, }",
    "file of a log": "{name} (SHA-256 {digest})",
    "file without digest": "{name}",
    "corrected by ice": "{by} added, by its reading in melting ice",
    "logger silent": "; silent for {silent}, which counts as {counts_as} (assumed)",
    "beside a dead load": "goes in beside {loads: and }, where the kill is over ({over}); only the floor still holds it",
    "kept out of a freezer": "kept out of the {freezer}, where it could warm {loads: and } before the kill there is over",
    "waits for a kill": "goes in once the kill in {loads: and } is over: {mass} more, warm, could undo it",
    "load": '"{title}"',
    "load of a mass": '"{title}" ({mass})',
}
CURES = {
    "due before the plan": "It was due before this plan begins: do it first, or say when it was done.",
    "cured by": "What would cure it: {changes:, or }.",
    "windows open late": "Its windows do not open before {opens}: look at what the card asks of season, sun and temperature.",
    "windows never open": "Its windows do not open at all: look at what the card asks of season, sun and temperature.",
    "no cure": "None of the changes tried would be enough.",
    "cures in the agenda": "What would help: afterpull agenda",
    "cures not all tried": "None of the changes tried so far would be enough; not all could be tried.",
    "more room": "{more} more room in the {resource}",
    "freezer turned down": "the {resource} turned down to {temperature} a day ahead, and read",
    "counted room": "{count:g} {measure}",
    "day kept free": "{day:weekday} kept free from {opens} to {closes}",
    "kept free by": "{free} by {person}",
    "time kept free": "{minutes} free before {until}",
    "takes too": '{person} takes "{card}" too',
    "left to the keeper too": '"{card}" done by yourself, not only by {person}',
    "frames kept whole": "{count:g} frames of {lot} kept whole for now, in the freezer or warm and dry",
}
TIME_TO_PULL = {
    "flow is over": "the main flow ended on {day:weekday}, {since} ago ({rests})",
    "flow ends today": "the main flow ends about today ({rests})",
    "flow goes on": "the main flow is expected until {day:weekday}, {left} more ({rests})",
    "capped enough": "{capped} is capped; {least} or more is usual",
    "capped too little": "{capped} is capped, and {least} or more is usual: what shakes out stays on the hive",
    "dry enough": "the sample has {moisture} of water, your limit is {limit}",
    "too wet to pull": "the sample has {moisture} of water, over your limit of {limit}: bees dry it better than you do",
    "robbing begins": "robbing begins about {day:weekday}, in {left}: a pull before it draws fewer robbers",
    "robbing is on": "robbing season is on until {last:weekday}: boxes covered at once, wet frames given back at dusk only",
    "treatment can begin": "{active} needs its warm days before {warm:weekday}, so it begins by {latest:weekday}, in {left}, with the supers off",
    "treatment is late": (
        "pulled today, mites are treated by {begins:weekday}, and {active} would have to begin by {latest:weekday} for its warm days (until {warm:weekday})"
    ),
}
VIOLATIONS = {
    "not placed": "{task}: not placed",
    "not in the network": "{task}: placed but not in the network",
    "before its release": "{task}: starts {by:seconds} before its release",
    "after it began": "{task}: starts {by:seconds} after it began",
    "start outside its window": "{task}: starts outside its window",
    "apart from its work": "{task}: starts or finishes apart from its work",
    "wrong hands-on time": "{task}: hands-on time is not what the task needs",
    "hold too short": "{task}: held {by:seconds} too short",
    "work outside its window": "{task}: work on {at} lies outside its window",
    "after its deadline": "{task}: finishes {by:seconds} after its deadline",
    "lag too short": "{task}: {by:seconds} too early after {before}",
    "ahead of what has no time": "{task}: placed, though {before}, which it waits for, is not",
    "lag too long": "{task}: {by:seconds} too late after {before}",
    "hands needed twice": "{task} and {other}: one pair of hands is needed twice on {at}",
    "travel too short": "{task}: {by} less than the way takes after {before}",
    "over capacity": "{resource}: {needed:g} needed of {capacity:g} on {at}",
    "over daily load": "{resource}: {loaded} loaded within a day of {at}, rated for {rated}",
}
TITLES = {
    "last seen": "{title} (last seen {ago} ago)",
    "minutes left of it": "{title} ({left} of {of} left)",
    "left of it": "{title} ({left:g} of {count:g} left)",
    "of some hives": "{title}: {hives}",
    "held longer": "{text}. The freezer was warm for {warm}, so it was kept longer",
    "spaced": "{text}, one layer, air between",
    "lies in": "in the {resource}",
    "lies spaced": "one layer, air between",
    "lies spaced in": "in the {resource}, one layer, air between",
}
AS_WRITTEN = {"rule": "{text}", "as written": "{text}"}  # what an author of rules wrote
PLAN = {**WARNINGS, **REFUSALS, **REASONS, **HOLDS, **CURES, **TIME_TO_PULL, **VIOLATIONS, **TITLES, **AS_WRITTEN}
