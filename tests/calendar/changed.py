#!/usr/bin/python3
"""A plan changes after its reminders were made: changed.py BINARY.

update   what did not change keeps its bytes; what did its name, with the next number; what went away is cancelled, and told
hostile  calendars that are not ours, or are broken: refused with a reason, and nothing is written
split    a folder of one file per event: what is ours follows the plan, everything else is left alone
span     which alarms there are, and what is said about many of them
"""
import datetime as dt
import pathlib
import re
import shutil
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))

from events import ROOT, Count, read, uid_of  # noqa: E402

NIGHT, AT = ROOT / "plans/night", "2026-03-10 19:00"
PLAN = "5f1c6f0e-94b1-4c57-8d0b-3f6f6f1f5a01"


def utc(text):
    return dt.datetime.fromisoformat(text).replace(tzinfo=dt.timezone.utc)


class Ward:
    """A copy of the night whose tables can be changed."""

    def __init__(self, count, place, name):
        self.count, self.folder = count, pathlib.Path(place) / name
        shutil.copytree(NIGHT, self.folder)

    def edit(self, table, old, new):
        path = self.folder / f"{table}.csv"
        text = path.read_text()
        self.count.that(text.count(old) == 1, f"{table}: {old!r} stands there {text.count(old)} times")
        path.write_text(text.replace(old, new))

    def remind(self, *words, at=AT):
        return self.count.run("remind", self.folder, "--at", at, "--quiet", *words)

    def said(self, *words, at=AT):
        return self.count.call("remind", self.folder, "--at", at, *words)

    def events(self, *words, at=AT):
        return {e.uid: e for e in read(self.remind(*words, at=at), self.folder)}


def bare(text):
    """A text without its page code."""
    return re.sub(r"\nPage \S+\Z", "", text)


# ---- update ----

def check_same(count, ward, old, before):
    count.same("nothing changed", ward.remind("--update", old), old.read_bytes().decode().replace("\r\n", "\n"))
    count.same("nothing changed, changes only", read(ward.remind("--update", old, "--changes-only")), [])
    later = ward.events("--update", old, at="2026-03-10 22:30")
    count.same("later", set(later), {uid for uid, e in before.items() if e.alarm >= utc("2026-03-10 22:30").timestamp()})
    count.that(all((e.sequence, e.modified, e.text) == (0, before[u].modified, before[u].text) for u, e in later.items()), "later: something that did not change says it has")


def check_only(count, what, before, after, changed):
    """Just these events have the next number; the others keep number, time of change and text, but perhaps for the page code."""
    count.same(f"{what}: which changed", {before[u].title if u in before else e.title for u, e in after.items() if u not in before or e.sequence != before[u].sequence}, changed)
    for uid, e in after.items():
        if uid in before and e.sequence == before[uid].sequence:
            count.that((e.title, bare(e.text), e.modified) == (before[uid].title, bare(before[uid].text), before[uid].modified), f"{what}: {e.title} is not as it was")
        elif uid in before:
            count.that(e.sequence == before[uid].sequence + 1 and e.modified > before[uid].modified, f"{what}: {e.title}: {e.sequence}, {e.modified}")


def check_moves(count, place, old, before):
    by_title = {e.title: e for e in before.values()}
    at = "2026-03-10 19:05"
    # 80 mL more at 80 mL/h: an hour
    ward = Ward(count, place, "bag")
    ward.edit("orders", "80 mL/h,,1000 mL,400 mL", "80 mL/h,,1000 mL,480 mL")
    after = ward.events("--update", old, at=at)
    check_only(count, "a bag an hour longer", before, after, {"bay2-bed1: hang 00:42"})
    count.same("a bag an hour longer", after[by_title["bay2-bed1: hang 00:42"].uid].title, "bay2-bed1: hang 01:42")
    # the dose due at 22:00 waits for the end of a pause; the bag under it too: 60 min of pause, 42 min of dose
    ward = Ward(count, place, "dose")
    (ward.folder / "pauses.csv").write_text("patient,line,from,to,why\nbay2-bed1,left-forearm,2026-03-10 21:30,2026-03-10 23:00,scan\n")
    after = ward.events("--update", old, at=at)
    dose = after[by_title["bay2-bed1: dose 22:00"].uid]
    count.same("a dose an hour later", (dose.title, dose.s - by_title["bay2-bed1: dose 22:00"].s, dose.sequence), ("bay2-bed1: dose 23:00", 3600, 1))
    count.that(by_title["bay2-bed1: hang 00:42"].uid in after, "the bag under it has another name")
    # a bed: the patient's own events, and the rounds that list it
    ward = Ward(count, place, "bed")
    text = (ward.folder / "patients.csv").read_text().splitlines()
    (ward.folder / "patients.csv").write_text("\n".join([text[0] + ",bed", *(line + (",bay7-bed7" if line.startswith("bay2-bed2,") else ",") for line in text[1:])]) + "\n")
    after = ward.events("--update", old, at=at)
    check_only(count, "another bed", before, after, {e.title for e in before.values() if e.round or "bay2-bed2:" in e.title})
    count.that(all("bay2-bed2" not in e.title + e.text for e in after.values()), "another bed: the old one is still named")
    # a row that changes nothing
    ward = Ward(count, place, "note")
    ward.edit("patients", "58 years,80 kg", "58 years,80.4 kg")
    after = ward.events("--update", old, at=at)
    check_only(count, "another weight", before, after, set())
    pages = {e.title for uid, e in after.items() if e.text != before[uid].text}
    count.same("another weight: page codes", pages, {e.title for e in before.values() if e.round or "bay2-bed2:" in e.title})


def check_gone(count, place, old, before):
    ward = Ward(count, place, "gone")
    row = next(line for line in (ward.folder / "orders.csv").read_text().splitlines() if line.startswith("bay2-bed3,metronidazole"))
    ward.edit("orders", row + "\n", "")
    second, third = ward.folder.parent / "second.ics", ward.folder.parent / "third.ics"
    at = "2026-03-10 19:10"
    done = ward.said("--update", old, "--output", second, at=at)
    doses = {u for u, e in before.items() if e.title.startswith("bay2-bed3: dose")}
    after = {e.uid: e for e in read(second.read_text(), ward.folder)}
    gone = {u: e for u, e in after.items() if e.status == "CANCELLED"}
    count.same("cancelled", {e.title for e in gone.values()}, {"CANCELLED: bay2-bed3: dose 21:00", "CANCELLED: bay2-bed3: dose 05:00"})
    count.same("cancelled: names", set(gone), doses)
    for uid, e in gone.items():
        count.same(f"{e.title}: time, number, alarm", (e.start, e.sequence, e.alarm, e.modified), (before[uid].start, 1, None, utc("2026-03-10 19:10")))
    listed = [line for line in done.stderr.splitlines() if line.startswith("  ")]
    count.same("to be deleted by hand", listed, ["  Tue 10 Mar 21:00  bay2-bed3: dose 21:00", "  Wed 11 Mar 05:00  bay2-bed3: dose 05:00"])
    again = {e.uid: e for e in read(ward.remind("--update", second, at="2026-03-10 19:20"), ward.folder)}
    count.that(all((again[u].sequence, again[u].text, again[u].modified) == (e.sequence, e.text, e.modified) for u, e in gone.items()), "cancelled a second time")
    ward.edit("orders", "bay2-bed1,cefazolin", row + "\nbay2-bed1,cefazolin")
    back = {e.uid: e for e in read(ward.remind("--update", second, "--output", third, at="2026-03-10 19:20") or third.read_text(), ward.folder)}
    count.same("back again", {(back[u].status, back[u].sequence, back[u].title) for u in doses}, {("CONFIRMED", 2, "bay2-bed3: dose 21:00"), ("CONFIRMED", 2, "bay2-bed3: dose 05:00")})
    count.same("changes only", {e.status for e in read(ward.remind("--update", second, "--changes-only", at="2026-03-10 19:20"), ward.folder)}, {"CONFIRMED"})


def check_scope(count, place, old, before):
    """What was not asked for, or cannot be known, has not gone away."""
    ward = Ward(count, place, "scope")
    for words in (["--patient", "bay2-bed1"], ["--for", "3h"], ["--team", "A", "--to", "23:00"]):
        count.same(f"{words}: nothing is cancelled", {e.status for e in read(ward.remind("--update", old, *words), ward.folder)}, {"CONFIRMED"})
    # calendars of single beds, put into one: no round takes the place of another
    beds = [ward.remind("--patient", bed) for bed in ("bay2-bed1", "bay2-bed2")]
    rounds = [{e.uid for e in read(text, ward.folder) if e.round} for text in beds]
    count.that(len(rounds[0]) == len(rounds[1]) == 11 and not rounds[0] & rounds[1] and not rounds[0] & set(before), "rounds of single beds share names")
    one = ward.folder.parent / "one.ics"
    ward.remind("--patient", "bay2-bed1", "--output", one)
    count.same("a single bed again", ward.remind("--patient", "bay2-bed1", "--update", one), beds[0])
    ward.edit("orders", "50 mL/h,,500 mL,350 mL", "50,,500 mL,350 mL")
    done = ward.said("--update", old, at="2026-03-10 19:05")
    got = {e.title: e for e in read(done.stdout, ward.folder)}
    count.same("a patient with an error: exit", done.returncode, 3)
    count.same("a patient with an error is left as it was", (got["bay2-bed4: hang 02:00"].status, got["bay2-bed4: hang 02:00"].sequence), ("CONFIRMED", 0))
    count.that("1 reminder of beds that are not planned now" in done.stderr, done.stderr)
    count.that(all("NOT PLANNED, go by the orders: bay2-bed4." in e.text for e in got.values() if e.round), "rounds do not say who is not planned")
    # so near that its alarm would be over
    ward = Ward(count, place, "near")
    ward.edit("orders", "80 mL/h,,1000 mL,200 mL", "80 mL/h,,1000 mL,190 mL")
    after = {e.uid: e for e in read(ward.remind("--update", old, at="2026-03-10 21:50"), ward.folder)}
    uid = next(u for u, e in before.items() if e.title == "bay2-bed3: hang 22:06")
    count.same("moved to 21:58:30, ten minutes away", (after[uid].title, after[uid].alarm, after[uid].sequence), ("bay2-bed3: hang 21:58", int(utc("2026-03-10 21:58:30").timestamp()), 1))
    count.that(all(e.alarm is None or e.alarm >= utc("2026-03-10 21:50").timestamp() for e in after.values()), "an alarm that is over")


def check_charted(count, place, old):
    """A shift that goes as planned, and is charted so, changes no reminder: not of rounds, nor of single looks, which are counted."""
    ward = Ward(count, place, "charted")
    (ward.folder / "pauses.csv").write_text("patient,line,from,to,why\nbay2-bed6,,2026-03-10 20:10,2026-03-10 20:40,bath\nbay2-bed6,,2026-03-11 02:10,2026-03-11 02:40,scan\n")
    ward.remind("--output", old)
    before = {e.uid: e for e in read(old.read_bytes(), ward.folder)}
    count.that({"bay2-bed6: stop 02:10", "bay2-bed6: goes-on 02:40"} < {e.title for e in before.values()}, "no stop, or nothing goes on")
    each = ward.folder.parent / "each.ics"
    ward.remind("--each", "--output", each)
    singly = {e.uid: e for e in read(each.read_bytes(), ward.folder)}
    beds = [line.split(",")[:2] for line in (ward.folder / "lines.csv").read_text().splitlines()[1:]]
    rows = [f"v-{bed},{bed},2026-03-10 19:00,verified,main,,,,,," for bed in sorted({bed for bed, _ in beds})]
    rows += [f"c-{n}-{hour},{bed},2026-03-10 {hour}:00,checked,,,{line},,clean,," for hour in (20, 21, 22) for n, (bed, line) in enumerate(beds)]
    rows += ["d-1,bay2-bed3,2026-03-10 21:00,started,metronidazole,2026-03-10 21:00,,,,,", "d-2,bay2-bed1,2026-03-10 22:00,started,cefazolin,2026-03-10 22:00,,,,,",
             "h-1,bay2-bed3,2026-03-10 22:06,hung,main,,,,,,", "p-1,bay2-bed6,2026-03-10 20:10,paused,main,,,,,,", "p-2,bay2-bed6,2026-03-10 20:40,resumed,main,,,,,,"]
    (ward.folder / "chart.csv").write_text("entry,patient,time,event,order,due,line,what,value,by,note\n" + "\n".join(rows) + "\n")
    for what, was, words in (("by round", before, ["--update", old]), ("each", singly, ["--each", "--update", each])):
        after = {e.uid: e for e in read(ward.remind(*words, at="2026-03-10 22:50"), ward.folder)}
        count.same(f"charted as planned, {what}: what is left", {e.title for e in after.values()}, {e.title for e in was.values() if e.alarm >= utc("2026-03-10 22:50").timestamp()})
        count.same(f"charted as planned, {what}: numbers", {e.sequence for e in after.values()}, {0})


# ---- calendars that are not ours ----

def check_hostile(count, place, old):
    text = old.read_bytes()
    first = text.index(b"BEGIN:VEVENT")
    end = text.index(b"END:VEVENT\r\n") + 12
    event = text[first:end]
    other = re.sub(rb"UID:\S+", b"UID:0b5a9e6c-3c1d-5f6e-9b7a-2d8e4c1f7a55", event)

    def with_event(one):
        return text[:first] + one + text[end:]

    def again(pattern, new):
        got, n = re.subn(pattern, new, text, count=1)
        count.that(n == 1, f"{pattern!r} is not in the file")
        return got

    cases = {
        "empty": b"", "one byte": b"B", "zeros": bytes(4096), "no calendar": b"hello\r\n", "a picture": bytes(range(256)) * 64,
        "cut off": text[:len(text) // 2], "cut off behind a line": text[:end], "LF alone": text.replace(b"\r\n", b"\n"), "a line of 8 MiB": again(rb"SUMMARY:", b"SUMMARY:" + b"x" * (8 << 20)),
        "a folded line of 8 MiB": again(rb"SUMMARY:", b"SUMMARY:x" + b"\r\n " .join([b"y" * 70] * 120000)),
        "folds without end": again(rb"SUMMARY:", b"SUMMARY:x" + b"\r\n " * 100000), "nested 10,000 deep": text[:first] + b"BEGIN:VEVENT\r\n" * 10000 + text[first:],
        "alarm in alarm": again(rb"BEGIN:VALARM\r\n", b"BEGIN:VALARM\r\nBEGIN:VALARM\r\n"), "30 February": again(rb"DTSTART:\d{8}", b"DTSTART:20260230"),
        "hour 25": again(rb"DTSTART:(\d{8})T\d\d", rb"DTSTART:\1T25"), "second 60": again(rb"DTSTART:(\d{8}T\d{4})\d\d", rb"DTSTART:\g<1>60"),
        "a local time": again(rb"DTSTART:(\S+)Z", rb"DTSTART:\1"), "a zone": again(rb"DTSTART:", b"DTSTART;TZID=Europe/London:"), "year 99999": again(rb"DTSTART:\d{4}", b"DTSTART:99999"),
        "ends before it starts": again(rb"DTEND:\d{4}", b"DTEND:1999"), "a number too large": again(rb"SEQUENCE:0", b"SEQUENCE:99999999999"), "a number below 0": again(rb"SEQUENCE:0", b"SEQUENCE:-1"),
        "another program's": again(rb"PRODID:[^\r]+", b"PRODID:-//someone//else//EN"), "a request": again(rb"VERSION:2.0", b"METHOD:REQUEST\r\nVERSION:2.0"),
        "somebody's event": with_event(b"BEGIN:VEVENT\r\nUID:party@example.org\r\nDTSTAMP:20260101T000000Z\r\nDTSTART:20260310T200000Z\r\nSUMMARY:party\r\nEND:VEVENT\r\n"),
        "a task": with_event(b"BEGIN:VTODO\r\nEND:VTODO\r\n"), "no name": again(rb"UID:\S+\r\n", b""), "a name of version 4": again(rb"UID:\S+", b"UID:0b5a9e6c-3c1d-4f6e-9b7a-2d8e4c1f7a55"),
        "a name twice": with_event(event + event), "two calendars": text + text, "something behind it": text + b"X:Y\r\n", "a NUL in a title": again(rb"SUMMARY:", b"SUMMARY:\0"),
        "an escape sequence": again(rb"SUMMARY:", b"SUMMARY:\x1b[2J"), "bad UTF-8": again(rb"SUMMARY:", b"SUMMARY:\xff\xfe"), "a fold inside a character": again(rb"SUMMARY:", b"SUMMARY:\xc3\r\n \xa9"),
        "two alarms": again(rb"END:VALARM\r\n", b"END:VALARM\r\nBEGIN:VALARM\r\nEND:VALARM\r\n"), "an alarm after it": again(rb"TRIGGER:-", b"TRIGGER:"), "repeated": with_event(event.replace(b"SEQUENCE:0", b"RRULE:FREQ=SECONDLY\r\nSEQUENCE:0")),
        "before the plan": with_event(re.sub(rb"DT(START|END):\d{4}", rb"DT\1:2020", other)), "years after it": with_event(re.sub(rb"DT(START|END):\d{4}", rb"DT\1:2031", other)),
    }
    out = pathlib.Path(place) / "hostile.out"
    for name, data in cases.items():
        path = pathlib.Path(place) / "hostile.ics"
        path.write_bytes(data)
        done = count.call("remind", NIGHT, "--at", AT, "--update", path, "--output", out)
        count.same(f"{name}: exit", done.returncode, 4)
        count.that(not out.exists() and done.stdout == "", f"{name}: something was written")
        count.that(done.stderr.startswith(f"daydrip: {path}: ") and "expected" in done.stderr and done.stderr.isascii() and done.stderr.count("\n") == 2 and len(done.stderr) < 900
                   and not re.search(r"[\x00-\x09\x0b-\x1f]", done.stderr), f"{name}: {done.stderr[:300]!r}")
    for path, why in ((pathlib.Path(place) / "none.ics", "No such file"), (pathlib.Path(place), "Is a directory")):
        done = count.call("remind", NIGHT, "--at", AT, "--update", path)
        count.that(done.returncode == 4 and why in done.stderr and not done.stdout, f"{why}: {done.returncode} {done.stderr!r}")
    ward = Ward(count, place, "foreign")
    ward.edit("ward", PLAN, "0f3c1c9e-6f2f-4a55-9a53-3f8d6d0c5b11")
    done = ward.said("--update", old)
    count.that(done.returncode == 4 and "its events are not of this plan" in done.stderr and not done.stdout, f"another plan: {done.returncode} {done.stderr!r}")
    for words in (["--changes-only"], ["--split", place, "--output", out], ["--split", place, "--update", old], ["--list", "--update", old], ["--list", "--split", place], ["--lead", "90s"], ["--lead", "25h"]):
        count.same(f"{words}: exit", count.call("remind", NIGHT, "--at", AT, *words).returncode, 2)


# ---- one file per event ----

def files_of(folder):
    return {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()}


def check_split(count, place, before):
    ward = Ward(count, place, "parted")
    folder = pathlib.Path(place) / "parts"
    count.same("split prints nothing", ward.remind("--split", folder), "")
    files = files_of(folder)
    count.same("a file for each event", set(files), {uid + ".ics" for uid in before})
    for name, (data, _) in files.items():
        events = read(data, ward.folder)
        count.same(name, [(e.uid + ".ics", e.title, e.text, e.sequence) for e in events], [(name, before[name[:-4]].title, before[name[:-4]].text, 0)])
        count.same(f"{name}: mode", (folder / name).stat().st_mode & 0o777, 0o600)
    foreign = {"notes.txt": b"x", "party.ics": b"BEGIN:VCALENDAR\r\n", "0b5a9e6c-3c1d-4f6e-9b7a-2d8e4c1f7a55.ics": files[min(files)][0],
               "0b5a9e6c-3c1d-5f6e-9b7a-2d8e4c1f7a55.ics": b"BEGIN:VCALENDAR\r\nPRODID:-//someone//else//EN\r\nBEGIN:VEVENT\r\nUID:0b5a9e6c-3c1d-5f6e-9b7a-2d8e4c1f7a55\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
               "0B5A9E6C-3C1D-5F6E-9B7A-2D8E4C1F7A56.ics": files[min(files)][0], min(files) + ".tmp": b""}
    for name, data in foreign.items():
        (folder / name).write_bytes(data)
    files = files_of(folder)
    ward.remind("--split", folder)
    count.same("split again touches nothing", files_of(folder), files)
    ward.remind("--split", folder, "--patient", "bay2-bed5") # its rounds of its own are beside those of the team, and go again
    count.that(set(files) <= set(files_of(folder)), "a patient alone: something is removed")
    ward.remind("--split", folder)
    count.same("the whole team again", files_of(folder), files)
    # a bag that lasts an hour longer, a dose that is ordered no more
    uid = {e.title: u + ".ics" for u, e in before.items()}
    ward.edit("orders", "80 mL/h,,1000 mL,400 mL", "80 mL/h,,1000 mL,480 mL")
    row = next(line for line in (ward.folder / "orders.csv").read_text().splitlines() if line.startswith("bay2-bed3,metronidazole"))
    ward.edit("orders", row + "\n", "")
    files = files_of(folder)
    ward.remind("--split", folder, at="2026-03-10 19:05")
    after = files_of(folder)
    count.same("removed", set(files) - set(after), {uid["bay2-bed3: dose 21:00"], uid["bay2-bed3: dose 05:00"]})
    moved = read(after[uid["bay2-bed1: hang 00:42"]][0], ward.folder)[0]
    count.same("moved", (moved.title, moved.sequence), ("bay2-bed1: hang 01:42", 1))
    count.same("others' files", {n: after[n] for n in foreign}, {n: files[n] for n in foreign})
    quiet = uid["bay2-bed6: hang 00:30"]
    count.same("of a patient whose rows did not change", after[quiet], files[quiet])
    # a server has written a file anew; the event is ours all the same
    altered = folder / quiet
    altered.write_bytes(after[quiet][0].replace(b"SEQUENCE:0\r\n", b"SEQUENCE:3\r\nX-SEEN:yes\r\n"))
    ward.remind("--split", folder, at="2026-03-10 19:05")
    again = read(altered.read_bytes(), ward.folder)[0]
    count.same("written anew by a server", (again.title, again.sequence), ("bay2-bed6: hang 00:30", 4))
    # a patient with an error: nobody can tell; and what is over is removed
    altered.write_bytes(after[quiet][0].replace(b"SEQUENCE:0\r\n", b"SEQUENCE:3\r\nX-SEEN:yes\r\n"))
    ward.edit("orders", "100 mL/h,,1000 mL,550 mL", "100,,1000 mL,550 mL")
    done = ward.said("--split", folder, at="2026-03-10 22:30")
    count.same("with an error: exit", done.returncode, 3)
    count.that(altered.exists(), "with an error: its file is removed")
    left = [read((folder / n).read_bytes(), ward.folder)[0] for n in set(files_of(folder)) - set(foreign)]
    count.that(all(e.s >= utc("2026-03-10 22:30").timestamp() for e in left), "a file of what is over")
    count.that(any(e.s < utc("2026-03-10 23:05").timestamp() for e in left), "what comes next was removed because its alarm is over")
    blocked = pathlib.Path(place) / "blocked"
    blocked.write_text("")
    done = ward.said("--split", blocked)
    count.that(done.returncode == 4 and "blocked" in done.stderr, f"a file in its place: {done.returncode} {done.stderr!r}")


# ---- which alarms ----

def check_span(count, place):
    for lead in (0, 15, 60, 1440):
        got = read(count.run("remind", NIGHT, "--at", AT, "--lead", f"{lead}min", "--quiet"), NIGHT)
        count.that(all(e.s - e.alarm == lead * 60 and e.alarm >= utc(AT).timestamp() for e in got), f"--lead {lead}min")
        count.that(lead < 720 and got or lead == 1440 and not got, f"--lead {lead}min: {len(got)} events")
    done = count.call("remind", NIGHT, "--at", AT)
    count.same("few alarms: nothing is said", done.stderr, "")
    done = count.call("remind", NIGHT, "--at", AT, "--each")
    count.that(re.match(r"daydrip: 118 alarms: phones .* 64 ", done.stderr) and "500" not in done.stderr, f"many alarms: {done.stderr!r}")
    ward = Ward(count, place, "many")
    text = {name: (ward.folder / f"{name}.csv").read_text().splitlines() for name in ("patients", "lines", "orders")}
    for name, lines in text.items():
        (ward.folder / f"{name}.csv").write_text("\n".join([lines[0], *(line.replace("bay2", f"bay{bay}") for bay in range(1, 6) for line in lines[1:])]) + "\n")
    done = ward.said("--each")
    count.that(done.stderr.startswith("daydrip: 590 alarms: ") and "500 alarms in all may go silent" in done.stderr, f"far too many alarms: {done.stderr!r}")
    listed = count.run("remind", NIGHT, "--at", AT, "--list")
    got = read(count.run("remind", NIGHT, "--at", AT), NIGHT)
    zone = dt.timezone.utc  # London in March
    rings = [(dt.datetime.fromtimestamp(e.alarm, zone).strftime("%H:%M"), e.title) for e in got]
    count.same("--list", re.findall(r"^(\d\d:\d\d)  (\S.*)$", listed, re.M), rings)
    count.that(listed.endswith("\n22 alarms\nEND OF LIST\n") and all(len(line) <= 72 for line in listed.splitlines()), "--list: end and width")
    count.same("a title says no more than bed and kind", {re.sub(r"(bay2-bed\d|\d\d:\d\d|\d+ \w+)", "#", e.title) for e in got},
               {"team A: round #, #", "team A: round #, #, #, #", "#: dose #", "#: hang #"})
    detail = read(count.run("remind", NIGHT, "--at", AT, "--detail"), NIGHT)
    count.that("bay2-bed1: hang 00:42, left-forearm, bag 2, sodium chloride 0.9 % with potassium chloride 20 mmol/L, 80 mL/h" in {e.title for e in detail}, "--detail")
    count.same("--detail: names", [e.uid for e in detail], [e.uid for e in got])
    count.that(all("counts, not this reminder" in e.text and re.search(r"\nMade Tue 10 Mar 19:00. A plan, not an order.\nPage [0-9A-Z]{4}-[0-9A-Z]{4}\Z", e.text) for e in got), "the end of a text")
    count.same("of a round without a team", count.run("remind", ROOT / "plans/pause", "--at", "2026-11-25 07:00").count("UID:" + uid_of(
        re.search(r"^plan,(\S+)", (ROOT / "plans/pause/ward.csv").read_text(), re.M)[1], "round||20261125T130000Z")), 1)


def main():
    count = Count(sys.argv[1])
    with tempfile.TemporaryDirectory() as place:
        old = pathlib.Path(place) / "old.ics"
        ward = Ward(count, place, "night")
        ward.remind("--output", old)
        before = {e.uid: e for e in read(old.read_bytes(), ward.folder)}
        check_same(count, ward, old, before)
        check_moves(count, place, old, before)
        check_gone(count, place, old, before)
        check_scope(count, place, old, before)
        check_charted(count, place, pathlib.Path(place) / "paused.ics")
        check_hostile(count, place, old)
        check_split(count, place, before)
        check_span(count, place)
    return count.report()


sys.exit(main())
