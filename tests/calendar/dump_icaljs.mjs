// dump_icaljs.mjs - what ical.js, of the family that web and desktop calendars are made from, reads in calendar files.
//
//     node dump_icaljs.mjs FOLDER FILE...
//
// FOLDER is where install.sh put it. Prints what dump_icalendar.py prints, whose comment says what that is.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";

const [folder, ...files] = process.argv.slice(2);
const required = createRequire(resolve(folder, "package.json"))("ical.js");
const ICAL = required.default ?? required;
const seconds = (time) => time.toUnixTime();

function read(path) {
  const calendar = new ICAL.Component(ICAL.parse(readFileSync(path, "utf8")));
  return calendar.getAllSubcomponents("vevent").map((component) => {
    const event = new ICAL.Event(component);
    const value = (name) => component.getFirstPropertyValue(name);
    return {
      uid: event.uid,
      start: seconds(event.startDate),
      end: seconds(event.endDate),
      utc: event.startDate.zone === ICAL.Timezone.utcTimezone && event.endDate.zone === ICAL.Timezone.utcTimezone,
      summary: event.summary,
      description: event.description,
      sequence: event.sequence,
      status: value("status"),
      transparent: value("transp") === "TRANSPARENT",
      stamp: seconds(value("dtstamp")),
      modified: seconds(value("last-modified")),
      categories: component.getAllProperties("categories").flatMap((p) => p.getValues()),
      alarms: component.getAllSubcomponents("valarm").map((alarm) => ({
        before: -alarm.getFirstPropertyValue("trigger").toSeconds(),
        action: alarm.getFirstPropertyValue("action"),
        text: alarm.getFirstPropertyValue("description"),
      })),
    };
  });
}

console.log(JSON.stringify(files.map(read)));
