// Reads a calendar with ical.js and the zones that the file itself brings; prints "UID start end" in seconds since 1970 UTC.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

const require = createRequire(join(process.env.AFTERPULL_READERS, "package.json"));
const { default: ICAL } = await import(require.resolve("ical.js"));

const calendar = new ICAL.Component(ICAL.parse(readFileSync(process.argv[2], "utf8")));
for (const zone of calendar.getAllSubcomponents("vtimezone")) ICAL.TimezoneService.register(new ICAL.Timezone(zone));
for (const component of calendar.getAllSubcomponents("vevent")) {
  const event = new ICAL.Event(component);
  console.log([event.uid, event.startDate.toUnixTime(), event.endDate.toUnixTime()].join(" "));
}
