"""The words of estimates: what each rests on, why one is refused, and what the tables it was worked out from lack."""

FREEZING = {
    "core cooled": "core from {start} to {goal} in air at {air}",
    "core cooled within": "core from {start} to {goal} in air at {air}: {cooling}",
    "lethal exposure": "then {exposure} there, the published lethal exposure",
    "never lethal": (
        "air at {air} never kills wax moth: the mildest published pair is {mildest} for {exposure:hours} at the core, "
        "so the air, which may be {error} off, has to read {needed} or colder"
    ),
    "lethal by its reading alone": (
        "air at {air}, which may be {error} off, is not sure to kill wax moth: the mildest published pair is {mildest} for {exposure:hours} at the core, "
        "so it has to read {needed} or colder, or to be logged"
    ),
    "never so cold": "air at {air}, which may be {error} off, is not sure to bring the core to {goal}: it has to be at least {closest} colder",
    "freezer not measured": "the freezer's temperature is not known, so nothing can be said of a kill: measure it and write it in the yard",
    "pieces touching": "{count} pieces touching, cooled as one body, package: {package}",
    "pieces apart": "{count} pieces in one layer with air between them, package: {package}",
    "one piece": "{count} piece, package: {package}",
    "boxes as one body": "boxes of comb stacked {height} high as one body of {density} (assumed)",
    "spread of conductivity": (
        "conductivity of comb {slow} ({quick:bare} at the quick end), as published tables and the composition model have it; single values down to 0.10, "
        "of honey that has set and without a method named, are not covered: comb that has granulated takes longer"
    ),
    "surface in its range": "surface coefficient {surface} ({slow:bare} to {quick:bare}): from memory, within what free convection and radiation give",
    "surface as told": "surface coefficient {surface} as set for this freezer",
    "rated capacity": "rated {rated} of water-based test load at {heat} (from memory) is {power}",
    "no plate": "no freezing capacity named: {a_day} of new food by its space, published advice, is {power}",
    "thermometer off": "range: the freezer {error} warmer or colder than read",
    "large warm load": "a large warm load: the freezer needs about {extraction} to take its heat away; move what is already holding aside",
    "beyond what is known of comb": "extrapolated: properties of comb are known from {low:bare} to {high}",
    "warning": "warning: {says}",
    "warm load beside": "{mass} at {warm} beside {held} that is holding could warm it to {warmed}: keep them apart, or start the hold again",
}
RECORDED = {
    "record never lethal": "the recorded air never killed wax moth, and air at {air} never does: a colder freezer is needed",
    "core by the record": (
        "by the recorded air, at its slowest: core at or below {goal} from {since} after it went in; {exposure} there is the published lethal exposure"
    ),
    "not proved yet": "not proved yet: the record ends after {recorded}; from there {air} is assumed",
    "readings too far apart": (
        "not proved: readings of the air further apart than {most:hours} speak for their own minute; a log would prove it, or readings closer together"
    ),
    "proved": "proved: core at or below {goal} for {below} by the record",
    "readings of the core": "{count} readings of the core itself",
    "too few readings": "{count} readings of a core while it lay in recorded air; {needed} are needed",
    "readings cannot tell": "the readings are not enough: read the core while it cools, some hours apart, rather than when it is cold",
    "least squares": "least squares over {count} readings of the core in {loads} loads; they are met to {left}",
    "two standard errors": "range: two standard errors, a reading taken as {error} off",
}
WARMING = {
    "above it already": "already above {goal}",
    "at it already": "already at {start}",
    "air too damp to thaw": "air at {room} and {humidity} humidity leaves comb within {margin} of its dew point: dry or warm the room",
    "surface warmed": "surface from {start} to {goal} (dew point and {margin}, assumed) in air at {room}",
    "thawed as a block": "{count} packages as one block, to its middle; set apart they thaw in hours",
    "package kept closed": "package: {package}, kept closed till then",
    "room too cold": "a room at {room} never brings the middle of the comb to {goal}: it has to be at {needed} or warmer",
    "middle warmed": "middle from {start} to {goal} in air at {room}",
    "single combs": "single combs in their frames, air on both faces",
    "full box": "a full box of {frame} frames, air on all faces",
    "room too warm": "a room at {room} never cools honey to {goal}: it has to be at {needed} or colder",
    "vessel cooled": "{mass} of honey, stirred now and then, from {start} to {goal} in a room at {room}",
    "too cold for a bucket": "air at {room} never brings the middle of a bucket to {goal}: it has to be {needed} or warmer",
    "bucket warmed": "the middle of {volume} of honey in a bucket from {start} to {goal}, in air at {room}",
    "bucket by conduction": "not stirred, so by conduction alone; granulated honey takes the slow end or longer (what melting takes is not counted)",
    "surface of a vessel": "{typical} on all faces; slow end {slow} on the wall alone (assumed)",
    "dew of air": "air at {room} and {humidity} humidity",
    "hygrometer off": "range: a hygrometer {error} off (assumed)",
}
HONEY = {
    "honey at": "honey at {temperature} with {moisture} of water",
    "honeys differ": "range: honeys differ by 30 to 50 %; heather honey is not covered",
    "beyond the fit": "extrapolated: the fit covers {coldest:bare} to {warmest} and {driest:bare} to {wettest} of water",
    "drained by viscosity": (
        "{anchor:hours} at {usual} and {water} (common practice) times a viscosity ratio of {ratio:.2f} at {temperature} and {moisture}{bound}"
    ),
    "at the least": " (the least it may be)",
    "at the most": " (the most it may be)",
    "moisture not measured": "moisture not measured: {assumed} assumed",
    "bubbles rise": "bubbles of {bubble} through {depth} of honey at {temperature} and {moisture}",
    "bubbles differ": "range: honeys differ, and a clean bubble rises 1.5 times as quickly",
    "refractive index read": "refractive index {index:g} read at {temperature}",
    "brix read": "{brix:g} °Bx read at {temperature}, not 100 less Brix",
    "refractive index at the standard": "refractive index at {standard} {index:.5f} ({slope} for each °C)",
    "beyond the table of water": "extrapolated: the table covers {driest:bare} to {wettest} of water",
    "dry enough already": "at or below the target already",
    "air too damp to dry": "air at {humidity} humidity brings honey to {rest} at best: it has to be drier to reach {goal}",
    "dries towards": 'from {moisture} towards {rest} (air at {humidity}), {capped} capped: measure again, this is not "ready"',
    "too hot for comb": "hotter than {limit} harms comb",
    "dry the air": "dry the air under {limit} humidity",
    "not between the two": "lots at {first} and {second} cannot be mixed to {goal}",
    "blended": "{share} of the lot at {first}, the rest of the lot at {second}: mass of water is kept",
    "heat capacity of honey": "published for liquid honey: {low:bare} to {high}",
    "conductivity of honey": "published values disagree by 1.7 to 1.9",
}
PESTS = {
    "eggs not taken to hatch": "wax moth eggs are not taken to hatch at {temperature}: the guard counts above {base} (assumed)",
    "eggs by degree days": "{total} above {base} (assumed: {days:.3g} days at {quickest}) at {temperature}",
    "beetle does not develop": "small hive beetle eggs do not develop at {temperature} (least {base})",
    "beetle by degree days": "{total} above {base} (derived from two published times) at {temperature}",
    "no beetle seen": "no small hive beetle was seen",
    "too dry for beetle": "air at {humidity} humidity, under {limit}: beetle eggs do not hatch in it",
    "bees left before the pull": "the bees left the boxes {before} before the pull",
    "beyond published hatching": "extrapolated: published for {low:bare} to {high}",
    "store not measured": "temperature of the store unknown: every three weeks",
    "moth at rest": "at {temperature} moth activity stops: look at the start and at the end of the cold",
    "interval by the table": "store at {temperature}: {days:g} days by the table",
    "interval by the guard": "guard of {total} above {base}: {days:.1f} days",
    "no development": "no development counted at or below {base}",
    "gathered": "{gathered:bare} of {total} above {base} gathered in {days} days",
    "reached on a day": "reached on day {day}",
    "not reached": "not reached in the series: {days:g} days at most",
}
PACKING = {
    "pieces of a comb": "comb of {along:g} x {across:g} in in a {frame} frame, pieces {length:bare} x {width}, all one way",
}
TABLES = {
    "days missing": "{days} days missing from {first:iso}",
    "more gaps": "and {count} more gaps",
    "rows without a reading": "{rows} rows with an empty reading",
    "no unit in the table": "no unit in the table: °C assumed",
    "no unit in the log": "no unit in the log: °C assumed",
    "counted in a table": "{counting}, {days} days from {first:iso} to {last:iso}",
    "counted on a day": "{counting}, {low:bare} to {high}",
    "method": "{method} method, base {base}",
    "method with a top": "{method} method, base {base} to {upper}",
    "method from a day": "{counting}, from {begins:short}",
    "days filled": "{days} days filled on the straight line between their neighbours",
}
SEASON = {
    "too few changes": "fewer than {least} daily changes in the last {window} days: no word on flow or dearth",
    "state of the flow": "{day:iso}: {state}; median daily change of {window} days",
    "thresholds of a flow": "flow from {flow}/d, dearth at {dearth}/d or less for {days} days: assumed, no published threshold was found",
    "manipulations": "{steps} steps more than {limit} out of line with their week taken out as manipulations",
    "flow by the scale": "by the hive scale, {known}: gain of {flow} a day and more (assumed), {gain} in all",
    "known to days": "to about {about} days",
    "not known to weeks": "likely, for readings scatter by {noise} and no day is known to two weeks",
    "flow likely over": "by the hive scale, likely: {quiet} days without a flow; firm after {needed}",
    "dearth by the scale": "a dearth by the hive scale, {known}: {dearth} a day or less for a week (assumed)",
    "dearth again": "after a later flow; {flow}",
    "dearth again at the latest": "likely: the scale was last read on {read:iso}, in a flow; {days} days later none is known",
    "lowest of a day": "by the weather table: lowest {low} that day{doubt}",
    "highest of a day": "by the weather table: highest {high} that day, bees fly from {flight}{doubt}",
    "dated": "{day:iso} {says}",
    "table in part": "; {days} days of the table are missing",
    "reached by degree days": "by degree days: {total} in the weather table, {counting}",
    "expected by degree days": (
        "expected by degree days, {range}: {so_far} of {total} by {day:iso}, beyond the table by the normals of the yard file and {spread} either way "
        "(assumed); {counting}"
    ),
    "between two days": "{earliest:iso} to {latest:iso}",
    "no sooner": "{earliest:iso} at the earliest",
    "usual by degree days": "usually {usual}, by degree days over the normals of the yard file; {counting}",
    "usual by own table": "usually {usual}, by your own weather table (years with it: {years})",
    "no frost in a year": "none in the year to {until:iso} of your own weather table",
    "flies all winter": "bees flew all winter in the year to {until:iso} of your own weather table",
    "by latitude alone": (
        "Months by latitude {degrees}° alone, at sea level, as land and sea are all round the earth; a coast or a plain may lie {doubt} off, and every "
        "100 m (330 ft) up is {colder} colder. They follow the {source}. Better: those of your weather service, or your own years: afterpull season --normals"
    ),
}
ESTIMATES = {**FREEZING, **RECORDED, **WARMING, **HONEY, **PESTS, **PACKING, **TABLES, **SEASON}
