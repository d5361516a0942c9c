// check.mjs - the instants of a calendar file against the schedule, read with ical.js: a second reader, of the family that
// web and phone calendars are made from.
//
//     node check.mjs FILE.ics SCHEDULE.csv --modules FOLDER [--from TIME] [--to TIME] [--at TIME] [--lead MINUTES]
//
// FOLDER is where install.sh put ical.js. The rest is as in check.py, whose comment says what is expected.
// Prints what does not fit, then `N passed, N failed`.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { resolve } from "node:path";
import { parseArgs } from "node:util";

const { values: asked, positionals: files } = parseArgs({
  allowPositionals: true,
  options: Object.fromEntries(["modules", "from", "to", "at", "lead"].map((name) => [name, { type: "string" }])),
});
if (files.length !== 2 || !asked.modules) {
  console.error("usage: node check.mjs FILE.ics SCHEDULE.csv --modules FOLDER [--from TIME] [--to TIME] [--at TIME] [--lead MINUTES]");
  process.exit(2);
}
const required = createRequire(resolve(asked.modules, "package.json"))("ical.js");
const ICAL = required.default ?? required;

let passed = 0;
let failed = 0;
function check(good, message) {
  if (good) {
    passed++;
  } else {
    failed++;
    console.log("FAILED:", message);
  }
}

// The schedule's CSV quotes a field only where RFC 4180 needs it.
function cells(line) {
  const out = [];
  const field = /("(?:[^"]|"")*"|[^,]*)(,|$)/y;
  for (let end = false; !end; ) {
    const [, text, behind] = field.exec(line);
    out.push(text.startsWith('"') ? text.slice(1, -1).replaceAll('""', '"') : text);
    end = behind === "";
  }
  return out;
}

// The first row of every bag, by patient, order, due and bag.
function readSchedule(path) {
  const [head, ...lines] = readFileSync(path, "utf8").trimEnd().split("\n");
  const names = cells(head);
  const first = new Map();
  for (const line of lines) {
    const row = Object.fromEntries(cells(line).map((cell, i) => [names[i], cell]));
    if (row.part !== "bag") continue;
    const key = JSON.stringify([row.patient, row.order, row.due, row.bag]);
    const at = Date.parse(row.from);
    if (!first.has(key) || at < first.get(key).at) first.set(key, { at, clock: row.from.slice(11, 16), due: row.due, bag: Number(row.bag), key });
  }
  return [...first.values()].sort((a, b) => a.at - b.at);
}

const component = new ICAL.Component(ICAL.parse(readFileSync(files[0], "utf8")));
const events = component.getAllSubcomponents("vevent").map((e) => new ICAL.Event(e));
const found = new Map();
const uids = new Set();
const leads = new Set();
const stamps = new Set();
for (const event of events) {
  const start = event.startDate.toJSDate().getTime();
  const alarms = event.component.getAllSubcomponents("valarm");
  const title = /^(?:(.+?): )?(second nurse|[a-z-]+(?:, [a-z-]+)*) (\d\d:\d\d)(, .+)?$/su.exec(event.summary);
  const key = [start, title?.[2], title?.[3]].join(" ");
  if (["hang", "start", "dose"].includes(title?.[2])) found.set(key, (found.get(key) ?? 0) + 1); // rows of a schedule tell of these
  check(title !== null, `title ${event.summary}`);
  check(event.startDate.zone === ICAL.Timezone.utcTimezone, `${event.summary}: not in UTC`);
  check(event.endDate.toJSDate().getTime() - start === 600000, `${event.summary}: does not last 10 min`);
  check(/^[0-9a-f]{8}-[0-9a-f]{4}-5[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/.test(event.uid), `UID ${event.uid}`);
  check(alarms.length === 1, `${event.summary}: ${alarms.length} alarms`);
  check(
    alarms.every((a) => a.getFirstPropertyValue("description") === `${event.summary}\n${event.description}`),
    `${event.summary}: the alarm says something else`,
  );
  for (const alarm of alarms) leads.add(-alarm.getFirstPropertyValue("trigger").toSeconds());
  stamps.add(event.component.getFirstPropertyValue("dtstamp").toJSDate().getTime());
  uids.add(event.uid);
}
check(uids.size === events.length, "a UID stands twice");
check(leads.size <= 1 && stamps.size <= 1, `leads ${[...leads]}, stamps ${[...stamps]}`);
if (events.length === 0 && (asked.at === undefined || asked.lead === undefined)) {
  console.error("there are no events: give --at and --lead");
  process.exit(1);
}
const lead = (asked.lead !== undefined ? Number(asked.lead) * 60 : [...leads][0]) * 1000;
const now = asked.at !== undefined ? Date.parse(asked.at) : [...stamps][0];
check([...leads].every((s) => s * 1000 === lead), `the alarms are ${[...leads]} s before`);

const first = readSchedule(files[1]);
const kindsOf = (row) => (row.due ? ["dose"] : row.bag > 1 ? ["hang"] : ["start", "dose"]);
const mayHaveHung = (row) => row.bag === 1 && !row.due && row.at === first[0].at;
// Rows that allow one kind only choose first, those that need none choose last.
const inTurn = [...first].sort((a, b) => kindsOf(a).length - kindsOf(b).length || mayHaveHung(a) - mayHaveHung(b) || a.at - b.at);
for (const row of inTurn) {
  if (row.at - lead < now || (asked.from && row.at < Date.parse(asked.from)) || (asked.to && row.at >= Date.parse(asked.to))) continue;
  const key = kindsOf(row)
    .map((kind) => [row.at, kind, row.clock].join(" "))
    .find((k) => found.get(k) > 0);
  if (key !== undefined) {
    found.set(key, found.get(key) - 1);
    check(true);
  } else if (!mayHaveHung(row)) {
    check(false, `no reminder: ${row.key} at ${new Date(row.at).toISOString()}`);
  }
}
for (const [key, left] of found) {
  for (let i = 0; i < left; i++) check(false, `a reminder that is not in the schedule: ${key}`);
}
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
