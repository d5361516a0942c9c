// dump_nodeical.mjs - what node-ical, which home displays and bots read calendars with, reads in calendar files.
//
//     node dump_nodeical.mjs FOLDER FILE...
//
// FOLDER is where install.sh put it. Prints what dump_icalendar.py prints, whose comment says what that is.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";

const [folder, ...files] = process.argv.slice(2);
const ical = createRequire(resolve(folder, "package.json"))("node-ical");
const seconds = (date) => date.getTime() / 1000;

// It hands a trigger on as it is written.
function before(trigger) {
  const [, sign, hours, minutes, rest] = /^(-?)PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?$/.exec(trigger);
  const length = 3600 * Number(hours ?? 0) + 60 * Number(minutes ?? 0) + Number(rest ?? 0);
  return sign === "-" ? length : -length;
}

function read(path) {
  const entries = Object.values(ical.sync.parseICS(readFileSync(path, "utf8")));
  return entries
    .filter((e) => e.type === "VEVENT")
    .map((e) => ({
      uid: e.uid,
      start: seconds(e.start),
      end: seconds(e.end),
      utc: e.start.tz === undefined || e.start.tz === "Etc/UTC",
      summary: e.summary,
      description: e.description,
      sequence: Number(e.sequence),
      status: e.status,
      transparent: e.transparency === "TRANSPARENT",
      stamp: seconds(e.dtstamp),
      modified: seconds(e.lastmodified),
      categories: e.categories ?? [],
      alarms: (e.alarms ?? []).map((a) => ({ before: before(a.trigger), action: a.action, text: a.description })),
    }));
}

console.log(JSON.stringify(files.map(read)));
