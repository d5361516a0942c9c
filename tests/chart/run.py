#!/usr/bin/python3
"""Charting from the command: run.py BINARY. What may be said and what comes of it, whole messages, the file's own dialect, many writers
at once, writers that are killed, a disk that is full. Ends with `N passed, N failed`.

Nothing can be charted before it happened, so the plan here begins yesterday, in UTC.
"""
import csv
import datetime
import io
import itertools
import os
import pathlib
import random
import re
import resource
import shlex
import signal
import stat
import subprocess
import sys
import tempfile
import time

BINARY = str(pathlib.Path(sys.argv[1]).resolve())
HEADER = "entry,patient,time,entered,event,order,due,line,what,value,by,strikes,note"
TODAY = datetime.datetime.now(datetime.timezone.utc).replace(microsecond=0)
YESTERDAY = (TODAY - datetime.timedelta(days=1)).strftime("%Y-%m-%d")
NOTHING = "         nothing was charted; daydrip chart --help says what can be said\n"
passed = failed = 0


def check(name, got, wanted):
    global passed, failed
    if got == wanted:
        passed += 1
    else:
        failed += 1
        print(f"{name}:\n  wanted {wanted!r}\n  got    {got!r}")


def entries(text):
    """The lines that say what was charted, without those about what changes because of it."""
    return "".join(r for r in text.splitlines(True) if not r.startswith("  "))


def plan(folder, chart=None, name="plan", **tables):
    """A small ward; tables replace its own."""
    path = pathlib.Path(folder) / name
    path.mkdir()
    usual = {
        "ward": f"setting,value\nward,Larkfield\ntimezone,Etc/UTC\nbegins,{YESTERDAY} 00:00\nhours,72\n",
        "patients": "patient,bed,age,weight,allergies\np1,bay1-bed1,7 years,20 kg,none\np2,bay1-bed2,60 years,70 kg,none\n",
        "lines": "patient,line,kind\np1,left-arm,peripheral\np2,left-arm,peripheral\np2,right-arm,peripheral\n",
        "orders": "patient,order,fluid,line,runs,rate,volume,over,set,times\n"
                  "p1,main,nacl-0.9,left-arm,,60 mL/h,500 mL,,,\n"
                  "p2,main,nacl-0.9,left-arm,,80 mL/h,1 L,,,\n"
                  "p2,drip,nacl-0.9,right-arm,,,500 mL,8 h,20 gtt/mL,\n"
                  "p2,cefazolin,cefazolin 1 g in nacl-0.9,left-arm,piggyback,100 mL/h,50 mL,,,06:00 14:00 22:00\n",
    }
    usual.update(tables)
    for table, text in usual.items():
        (path / f"{table}.csv").write_text(text)
    if chart is not None:
        (path / "chart.csv").write_bytes(chart if isinstance(chart, bytes) else chart.encode())
    return path


def run(where, *words, **more):
    return subprocess.run([BINARY, "chart", *(w if isinstance(w, bytes) else str(w) for w in words), "--plan", str(where)], capture_output=True, text=True, timeout=120, **more)


def rows(where, **more):
    text = (where / "chart.csv").read_bytes().decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline=""), **more))


def day(text):
    return datetime.datetime.strptime(f"{YESTERDAY} {text}", "%Y-%m-%d %H:%M").strftime("%a %H:%M")


def reads(where):
    """The whole folder is read without an error by the code that will read it."""
    done = subprocess.run([BINARY, "schedule", str(where), "--format", "csv"], capture_output=True, text=True, timeout=120)
    return done.returncode, done.stderr


def forms():
    at = f"{YESTERDAY} 19:05"
    said = (  # words, columns that are filled beside entry, patient, time, entered, event; what is printed
        (["bay1-bed2", "drip", "rate", "24 gtt/min"], {"event": "rate", "order": "drip", "value": "24 gtt/min"}, "bay1-bed2 drip rate 24 drops/min"),
        (["p2", "drip", "rate", "24", "gtt/min"], {"event": "rate", "order": "drip", "value": "24 gtt/min"}, "bay1-bed2 drip rate 24 drops/min"),
        (["p2", "main", "started"], {"event": "started", "order": "main"}, "bay1-bed2 main started"),
        (["p2", "main", "hung", "1000mL"], {"event": "hung", "order": "main", "value": "1000mL"}, "bay1-bed2 main hung 1,000 mL"),
        (["p2", "main", "hung"], {"event": "hung", "order": "main"}, "bay1-bed2 main hung"),
        (["p2", "main", "reading", "given", "437", "mL"], {"event": "reading", "order": "main", "value": "given 437 mL"},
         "bay1-bed2 main reading given 437 mL"),
        (["p2", "main", "moved", "right-arm"], {"event": "moved", "order": "main", "line": "right-arm"}, "bay1-bed2 main moved to right-arm"),
        (["p2", "left-arm", "checked", "clean"], {"event": "checked", "line": "left-arm", "value": "clean"}, "bay1-bed2 left-arm checked clean"),
        (["p2", "left-arm", "removed", "--by", "AB"], {"event": "removed", "line": "left-arm", "by": "AB"}, "bay1-bed2 left-arm removed"),
        (["p1", "intake", "oral", "150 mL"], {"event": "intake", "what": "oral", "value": "150 mL"}, "bay1-bed1 intake oral 150 mL"),
        (["p1", "urine", "output", "60 g"], {"event": "output", "what": "urine", "value": "60 g"}, "bay1-bed1 output urine 60 g"),
        (["p1", "output", "vomit", "unmeasured"], {"event": "output", "what": "vomit", "value": "unmeasured"}, "bay1-bed1 output vomit unmeasured"),
        (["p1", "weighed", "8.9", "kg"], {"event": "weighed", "value": "8.9 kg"}, "bay1-bed1 weighed 8.9 kg"),
        (["p2", "e-0003", "struck", "--note", 'wrong "bag", other bed'], {"event": "struck", "strikes": "e-0003", "note": 'wrong "bag", other bed'},
         "bay1-bed2 struck e-0003"),
        (["p1", "struck", "e-0010"], {"event": "struck", "strikes": "e-0010"}, "bay1-bed1 struck e-0010"),
    )
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        for i, (words, wanted, printed) in enumerate(said, 1):
            done = run(where, *words, "--at", at)
            check(f"said {words}", (done.returncode, entries(done.stdout), done.stderr), (0, f"e-{i:04d} {printed} at {day('19:05')}\n", ""))
            row = rows(where)[-1]
            entered = datetime.datetime.fromisoformat(row.pop("entered")).replace(tzinfo=datetime.timezone.utc)
            check(f"entered {words}", 0 <= (datetime.datetime.now(datetime.timezone.utc) - entered).total_seconds() < 60, True)
            whole = dict.fromkeys(HEADER.split(","), "")
            del whole["entered"]
            whole.update(wanted, entry=f"e-{i:04d}", patient="p2" if "bed2" in printed else "p1", time=at)
            check(f"row {words}", row, whole)
        check("the header", (where / "chart.csv").read_text().split("\n")[0], HEADER)
        check("what was charted is read", reads(where), (0, ""))
        check("mode of a new chart", stat.S_IMODE((where / "chart.csv").stat().st_mode), stat.S_IMODE((where / "patients.csv").stat().st_mode))
        check("nothing beside it", sorted(p.name for p in where.iterdir()), ["chart.csv", "lines.csv", "orders.csv", "patients.csv", "ward.csv"])
        help_text = subprocess.run([BINARY, "chart", "--help"], capture_output=True, text=True).stdout
        check("--help shows the forms", all(f in help_text for f in ("BED intake WHAT VOLUME", "BED ENTRY struck", "--from -", "--due TIME")), True)
        check("--help fits a screen", max(map(len, help_text.split("\n"))) <= 100, True)


def clocks():
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        before = TODAY - datetime.timedelta(minutes=10)
        run(where, "p2", "main", "started", "--at", before.strftime("%H:%M"))
        check("a clock is the last one", rows(where)[-1]["time"], before.strftime("%Y-%m-%d %H:%M"))
        later = TODAY + datetime.timedelta(hours=2)
        run(where, "p2", "main", "paused", "--at", later.strftime("%H:%M"))
        check("a clock to come is yesterday's", rows(where)[-1]["time"], (later - datetime.timedelta(days=1)).strftime("%Y-%m-%d %H:%M"))
        week = TODAY - datetime.timedelta(days=1)
        run(where, "p2", "main", "resumed", "--at", week.strftime("%a 03:04"))
        check("weekday and clock", rows(where)[-1]["time"], week.strftime("%Y-%m-%d 03:04"))
        run(where, "p2", "main", "rate", "80 mL/h", "--at", f"{YESTERDAY}T20:00:30+01:00")
        check("with an offset", rows(where)[-1]["time"], f"{YESTERDAY} 19:00:30")
        done = run(where, "p2", "cefazolin", "started", "--at", f"{YESTERDAY} 14:20", "--due", "14:00")
        check("--due", (done.stdout, rows(where)[-1]["due"]), (f"e-0005 bay1-bed2 cefazolin started, due {day('14:00')}, at {day('14:20')}\n", f"{YESTERDAY} 14:00"))
        done = run(where, "p2", "cefazolin", "started", "--at", f"{YESTERDAY} 21:40", "--due", "22:00")
        check("--due of a dose given early is asked about", (done.returncode, done.stderr.split("\n")[1]),
              (0, f'   strike it and say --due "{YESTERDAY} 22:00"'))
        # Nobody knows which 01:30 of the night on which clocks go back is meant; the one that is skipped was never.
        ward = "setting,value\ntimezone,Europe/London\nbegins,2026-10-25 00:00\n"
        where = plan(folder, name="back", ward=ward)
        done = run(where, "p2", "main", "started", "--at", "2026-10-25 01:30")
        check("a time that is twice", (done.returncode, done.stderr.split("\n")[:2]),
              (2, ['daydrip chart: --at: "2026-10-25 01:30" occurs twice: the clocks go back over it in Europe/London [time-twice]',
                   "   expected the time with its offset: 2026-10-25T01:30:00+01:00 or 2026-10-25T01:30:00+00:00"]))
        if TODAY.strftime("%Y-%m-%d") > "2026-10-25":
            run(where, "p2", "main", "started", "--at", "2026-10-25T01:30:00+00:00")
            check("is written with its offset", rows(where)[-1]["time"], "2026-10-25T01:30:00+00:00")
        done = run(where, "p2", "main", "started", "--at", "2026-03-29 01:30")
        check("a time that is not", (done.returncode, "[time-skipped]" in done.stderr), (2, True))


REFUSED = (  # words, exit status, message
    (["p2", "drip", "rate", "24"], 'value: "24" has no unit [unit-missing]', "a rate such as 24 gtt/min or 80 mL/h"),
    (["p2", "main", "rate", "20 gtt/min"], 'value: "20 gtt/min" needs a gravity set [rate-drops]', "a rate such as 80 mL/h"),
    (["p2", "main", "hung", "500 cc"], 'value: the unit of "500 cc" is easily misread [unit-unsafe]', "mL"),
    (["p2", "main", "started", "now"], 'value: "now" is no value for started [event-value]', "nothing behind started; a remark goes into --note"),
    (["p2", "main", "reading", "437 mL"], 'value: "437 mL" is no value for reading [event-value]', "given 437 mL or left 120 mL"),
    (["p2", "left-arm", "checked", "fine"], 'value: "fine" is no value for checked [event-value]', "clean, red, swollen, painful or leaking"),
    (["p2", "main", "start"], 'EVENT: "start" is not what happens to an order [word-unknown]', "started"),
    (["p2", "left-arm", "rate", "5 mL/h"], 'ORDER: "left-arm" is a line, and this event is about an order [order-unknown]', "main, drip, cefazolin"),
    (["p2", "drip", "checked", "clean"], 'LINE: "drip" is an order, and this event is about a line [line-unknown]', "left-arm, right-arm"),
    (["p2", "mian", "started"], 'ORDER: "mian" is no order of this patient [order-unknown]', "main, drip, cefazolin"),
    (["p2", "leg"], 'ORDER-or-LINE: "leg" is no order and no line of this patient [order-unknown]',
     "an order: main, drip, cefazolin; a line: left-arm, right-arm; or intake, output or weighed"),
    (["p2", "main", "moved", "leg"], 'LINE: "leg" is no line that it could be moved to [line-unknown]', "left-arm, right-arm"),
    (["bay1-bed9", "main", "started"], 'BED: "bay1-bed9" is no bed and no patient of this plan [patient-unknown]', "bay1-bed1"),
    (["P2", "main", "started"], 'BED: "P2" is no bed and no patient of this plan [patient-unknown]', "p2"),
    (["p2", "cefazolin", "started"], "due: started of a repeated order needs the due time of its dose [event-due]",
     "--due with the time at which the dose is due: 06:00, 14:00 or 22:00"),
    (["p2", "output", "200 mL"], 'what: "200 mL" is not what output takes [event-what]', "urine, stool, vomit, gastric, drain, blood or other"),
    (["p2", "weighed", "8.9"], 'value: "8.9" has no unit [unit-missing]', "a weight such as 8.9 kg"),
    (["p2", "e-0099", "struck"], 'strikes: there is no earlier entry "e-0099" of this patient [strikes-unknown]', "the key of an entry in a line above"),
    (["p1", "e-0001", "struck"], 'strikes: there is no earlier entry "e-0001" of this patient [strikes-unknown]', "the key of an entry in a line above"),
    (["p2", "main", "started", "--at", "25:00"], '--at: there is no such clock time as "25:00" [clock-none]',
     'a clock such as 19:05, a weekday and clock such as "Wed 19:05", or "2026-11-25 19:05"'),
    (["p2", "left-arm", "dressed", "--due", "14:00"], '--due: "14:00": only what happens to an order has a dose that is due', "no --due"),
    (["p2", "main", "started", "--note", "a\nb"], "note: a field goes over the end of the line [newline-in-field]", "a field on one line"),
    (["p2", "main", "started", "--by", "x" * 101], f'by: "{"x" * 60}~" is longer than this column takes [text-long]', "at most 100 bytes"),
    (["p2"], 'chart: "p2" alone says nothing that happened', "BED ORDER-or-LINE EVENT [VALUE], such as bay1-bed2 drip rate 24 gtt/min"),
)


def refused():
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        run(where, "p2", "main", "started")
        before = (where / "chart.csv").read_bytes()
        for words, what, expected in REFUSED:
            done = run(where, *words)
            if "longer than" in what:  # the words of that message belong to the table
                check(f"refused {words[:3]}", (done.returncode, "[text-long]" in done.stderr), (2, True))
            else:
                check(f"refused {words}", (done.returncode, done.stdout, done.stderr), (2, "", f"daydrip chart: {what}\n   expected {expected}\n{NOTHING}"))
        done = run(where, "p2", "main", "stopped", "--at", (TODAY + datetime.timedelta(days=1)).strftime("%Y-%m-%d %H:%M"))
        check("not yet", (done.returncode, "has not come yet [entered-early]" in done.stderr), (2, True))
        check("nothing is changed", (where / "chart.csv").read_bytes(), before)
        done = run(where, "p2", "main", "started", b"--note=\xff\xfe")
        check("not UTF-8", (done.returncode, "[encoding]" in done.stderr, (where / "chart.csv").read_bytes()), (2, True, before))
        run(where, "p2", "e-0001", "struck")
        done = run(where, "p2", "e-0001", "struck")
        check("struck twice", (done.returncode, "[strikes-struck]" in done.stderr), (2, True))
        # a bad entry makes no file
        where = plan(folder, name="none")
        check("a bad entry makes no chart", (run(where, "p2", "main", "rate").returncode, (where / "chart.csv").exists()), (2, False))


def others_errors():
    """Somebody else's error refuses no entry; what must be known to chart at all does."""
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        orders = (where / "orders.csv").read_text()
        (where / "orders.csv").write_text(orders.replace("p1,main,nacl-0.9,left-arm,,60 mL/h", "p1,main,nacl-0.9,left-arm,,60").replace("p2,drip,", 'p2,dr"ip,'))
        check("error of another row", run(where, "p2", "main", "started").returncode, 0)
        check("error in the same order", run(where, "p1", "main", "started").returncode, 0)
        check("an order in a row that cannot be read", run(where, "p2", "drip", "started").returncode, 0)
        (where / "orders.csv").write_text(orders)
        (where / "fluids.csv").write_text("fluid,words\n")
        done = run(where, "p2", "main", "paused")
        check("an error that stops the plan is said, and the entry kept", (done.returncode, rows(where)[-1]["event"], "fluids.csv:1:" in done.stderr),
              (3, "paused", True))
        (where / "fluids.csv").unlink()
        before = (where / "chart.csv").read_bytes()
        ward = (where / "ward.csv").read_text()
        (where / "ward.csv").write_text(ward.replace("Etc/UTC", "Nowhere/Land"))
        done = run(where, "p2", "main", "resumed")
        check("no zone", (done.returncode, "[zone-unknown]" in done.stderr, done.stderr.endswith("nothing was charted\n")), (3, True, True))
        (where / "ward.csv").write_text(ward)
        (where / "chart.csv").write_bytes(b"entry,patient\n")
        check("a chart without its columns", run(where, "p2", "main", "resumed").returncode, 3)
        (where / "chart.csv").write_bytes(before)
        (where / "patients.csv").unlink()
        check("no patients", (run(where, "p2", "main", "resumed").returncode, (where / "chart.csv").read_bytes()), (3, before))
        check("no folder", run(pathlib.Path(folder) / "nowhere", "p2", "main", "resumed").returncode, 4)


def dialects():
    semicolon = HEADER.replace(",", ";")
    old = {"e7": "e7,p2,2026-11-20 08:00,,started,main,,,,,,,"}
    with tempfile.TemporaryDirectory() as folder:
        cases = (
            ("semicolons", semicolon + "\n", ";", "\n"),
            ("tabs", HEADER.replace(",", "\t") + "\n", "\t", "\n"),
            ("CR LF", HEADER + "\r\n", ",", "\r\n"),
            ("BOM", "\ufeff" + HEADER + "\n", ",", "\n"),
            ("all of it", "\ufeff" + semicolon + "\r\n" + old["e7"].replace(",", ";") + "\r\n", ";", "\r\n"),
            ("no last line end", HEADER + "\n" + old["e7"], ",", "\n"),
            ("no line end at all", HEADER, ",", "\n"),
            ("other order", "x_mine,note,value,line,order,event,by,time,entered,patient,Entry,due,what,strikes\n", ",", "\n"),
            ("empty lines at the end", HEADER + "\n\n\n", ",", "\n"),
        )
        for name, start, separator, end in cases:
            where = plan(folder, start, name.replace(" ", "-"))
            os.chmod(where / "chart.csv", 0o664)
            done = run(where, "p2", "main", "rate", "80.5 mL/h", "--by", "A;B\tC,D", "--note", 'he said "1;2"')
            text = (where / "chart.csv").read_bytes().decode()
            check(f"{name}: charted", (done.returncode, done.stderr), (0, ""))
            check(f"{name}: what was there stays", text.startswith(start), True)
            added = text[len(start):]
            check(f"{name}: one row", (added.count("\n"), added.endswith(end), added.count("\r")), (1 + (start[-1] != "\n"), True, added.count("\n") if "\r" in end else 0))
            row = rows(where, delimiter=separator)[-1]
            low = {k.lower(): v for k, v in row.items() if k}
            check(f"{name}: cells", (low["value"], low["by"], low["note"], low["order"], low["event"]), ("80.5 mL/h", "A;B\tC,D", 'he said "1;2"', "main", "rate"))
            check(f"{name}: mode", stat.S_IMODE((where / "chart.csv").stat().st_mode), 0o664)
            check(f"{name}: is read", reads(where), (0, ""))
        # empty, and a column that is not there
        where = plan(folder, "", "empty")
        check("an empty file gets its header", (run(where, "p2", "main", "started").returncode, (where / "chart.csv").read_text().split("\n")[0]), (0, HEADER))
        where = plan(folder, "entry,patient,time,event,order\n", "few")
        check("no column needed", run(where, "p2", "main", "started").returncode, 0)
        before = (where / "chart.csv").read_bytes()
        done = run(where, "p2", "main", "rate", "80 mL/h", "--by", "AB")
        check("columns missing", (done.returncode, done.stderr),
              (3, "daydrip chart: value: this column is missing [column-missing]\n   expected a column value in the header row\n"
               "daydrip chart: by: this column is missing [column-missing]\n   expected a column by in the header row\n" + NOTHING))
        done = run(where, "p2", "main", "paused", "--at", f"{YESTERDAY} 10:00")
        check("a late entry needs `entered`", (done.returncode, "entered: this column is missing" in done.stderr), (3, True))
        check("nothing is changed", (where / "chart.csv").read_bytes(), before)
        # keys
        where = plan(folder, HEADER + "\nE-0041,p1,2026-11-20 08:00,,started,main,,,,,,,\nx,p1,2026-11-20 08:00,,\"e-0100,p1\n", "keys")
        check("keys rise above all there were", run(where, "p2", "main", "started").stdout[:6], "e-0101")
        link = pathlib.Path(folder) / "elsewhere.csv"
        (where / "chart.csv").rename(link)
        (where / "chart.csv").symlink_to(link)
        run(where, "p2", "main", "paused")
        check("a link is followed", ((where / "chart.csv").is_symlink(), link.read_text().count("\n")), (True, 5))


def torn():
    """A last line that was cut off is never glued to the next row, and never read as an entry."""
    row = "e-0002,p2,2026-11-20 08:00,2026-11-20 08:01,hung,main,,,,\"500 mL\",AB,,\"a \"\"b\"\" c\""
    whole = HEADER + "\ne-0001,p1,2026-11-20 08:00,2026-11-20 08:01,started,main,,,,,,,\n"
    with tempfile.TemporaryDirectory() as folder:
        for cut in range(1, len(row)):
            where = plan(folder, whole + row[:cut], f"cut{cut}")
            complete = row[:cut].count(",") == 12 and row[:cut].count('"') % 2 == 0  # only the remark is not whole
            check(f"cut at {cut} is an error", reads(where)[0], 0 if complete else 3)
            done = run(where, "p1", "main", "paused")
            after = (where / "chart.csv").read_bytes()
            last = after.decode().split("\n")[-2].split(",")
            check(f"cut at {cut}: the next row", (done.returncode, last[1], last[4:6], after.startswith((whole + row[:cut]).encode())),
                  (0, "p1", ["paused", "main"], True))
            check(f"cut at {cut} is said", "chart.csv:3: this line was cut off" in done.stderr, not complete)
            check(f"cut at {cut} stays an error", reads(where)[0], 0 if complete else 3)


def changes():
    """What an entry changes is worked out from the file as it is afterwards; sums by hand."""
    ward = "setting,value\nward,Larkfield\ntimezone,Etc/UTC\nbegins,2025-03-03 00:00\n"
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder, ward=ward)

        def changed(*words):
            done = run(where, *words)
            return done.returncode, [r.strip() for r in done.stdout.splitlines() if "runs dry" in r]

        check("as planned", changed("bay1-bed1", "main", "started", "--at", "2025-03-03 00:00"), (0, []))
        # 500 mL at 60 mL/h: dry at 08:20. 240 mL by 04:00, 260 left at 30 mL/h: 8 h 40 min
        check("slower", changed("bay1-bed1", "main", "rate", "30 mL/h", "--at", "2025-03-03 04:00"), (0, ["main on left-arm: runs dry Mon 12:40, was Mon 08:20"]))
        check("struck", changed("bay1-bed1", "struck", "e-0002", "--at", "2025-03-03 05:00"), (0, ["main on left-arm: runs dry Mon 08:20, was Mon 12:40"]))
        with (where / "chart.csv").open("a") as chart:
            chart.write("e-0004,p2,yesterday,,started,main\n")
        # 300 mL by 05:00, 200 left at 50 mL/h: 4 h
        check("beside a broken row", changed("bay1-bed1", "main", "rate", "50 mL/h", "--at", "2025-03-03 05:00")[1], ["main on left-arm: runs dry Mon 09:00, was Mon 08:20"])
        check("of whom a row is broken", changed("bay1-bed2", "main", "rate", "50 mL/h", "--at", "2025-03-03 05:00")[1], [])
        text = pathlib.Path(folder) / "text"
        # 200 mL left at 05:00, 160 at 06:00, then 2 h
        text.write_text('bay1-bed1 main rate "40 mL/h" --at "2025-03-03 05:00"\nbay1-bed1 main rate "80 mL/h" --at "2025-03-03 06:00"\n')
        check("two entries at once", changed("--from", text)[1], ["main on left-arm: runs dry Mon 08:00, was Mon 09:00"])


def from_text():
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        text = f"""# the night's paper
bay1-bed2 drip started --at "{YESTERDAY} 19:00"
bay1-bed2 drip rate 24 gtt/min --at "{YESTERDAY} 19:05" --by AB

daydrip chart p1 intake oral '150 mL' --at "{YESTERDAY} 20:00" --note "he said \\"enough\\""\r
"""
        done = run(where, "--from", "-", "--by", "CD", input=text)
        check("a text", (done.returncode, entries(done.stdout), done.stderr),
              (0, f"e-0001 bay1-bed2 drip started at {day('19:00')}\ne-0002 bay1-bed2 drip rate 24 drops/min at {day('19:05')}\n"
                  f"e-0003 bay1-bed1 intake oral 150 mL at {day('20:00')}\n", ""))
        check("who", [r["by"] for r in rows(where)], ["CD", "AB", "CD"])
        check("a remark", rows(where)[2]["note"], 'he said "enough"')
        check("is read", reads(where), (0, ""))
        before = (where / "chart.csv").read_bytes()
        bad = "p2 main rate 80 mL/h\np2 main rate 80\np9 main started\np2 main started --frob\np2 main 'x\np2 e-0001 struck\np2 e-0001 struck\np1 main started\n"
        paper = pathlib.Path(folder) / "paper.txt"
        paper.write_text(bad)
        done = run(where, "--from", paper)
        check("all or nothing", (done.returncode, done.stdout, (where / "chart.csv").read_bytes()), (2, "", before))
        named = sorted(int(m) for m in re.findall(rf"^{re.escape(str(paper)[:60])}\S*?:(\d+): ", done.stderr, re.M))
        check("every bad line is named", named, [2, 3, 4, 5, 7])
        check("the verdict", done.stderr.split("\n")[-2], "5 of 8 entries cannot be charted; nothing was charted")
        done = run(where, "--from", "-", input="p2 main rate 80\n")
        check("a whole message", done.stderr, '-:1: value: "80" has no unit [unit-missing]\n   1 | p2 main rate 80\n   expected a rate such as 80 mL/h\n'
                                              "1 of 1 entries cannot be charted; nothing was charted\n")
        check("an empty text", run(where, "--from", "-", input="# nothing\n").returncode, 2)
        check("no such file", run(where, "--from", "/no/such/file").returncode, 4)
        check("a NUL", run(where, "--from", "-", input="p2 main \0 started\n").returncode, 4)
        check("words beside it", run(where, "p2", "--from", "-", input="").returncode, 2)
        check("still", (where / "chart.csv").read_bytes(), before)
        done = run(where, "--from", "-", input="p2 main rate 80 mL/h\n" * 5000)
        check("five thousand lines", (done.returncode, entries(done.stdout).count("\n"), len(rows(where))), (0, 5000, 5003))


def page(where, at=None):
    """The report at that moment, else now, with all that was written down since."""
    now = f"{datetime.datetime.now(datetime.timezone.utc):%Y-%m-%d %H:%M:%S}"
    done = subprocess.run([BINARY, "report", str(where), "--at", at or now, "--known", now], capture_output=True, text=True)
    return done.stdout


def typed():
    """The two commands that a page gives for a dose of which nobody knows: each is taken as it stands, and the question is answered."""
    with tempfile.TemporaryDirectory() as folder:
        for n, (words, wanted) in enumerate((("given", ("started", "14:00")), ("omitted", ("omitted", "14:00")))):
            where = plan(folder, chart=f"{HEADER}\ne-0001,p2,{YESTERDAY} 06:00,{YESTERDAY} 06:10,started,cefazolin,{YESTERDAY} 06:00,,,,,,\n", name=words)
            evening = f"{YESTERDAY} 19:00"
            told = re.findall(r"^   (daydrip chart (?:.*\n)(?:     \S.*\n)*)", page(where, evening), re.M)
            check(f"{words}: two commands", len(told), 2)
            check(f"{words}: asked", f"due {day('14:00')}: past its window and no entry: given or not?" in " ".join(page(where, evening).split()), True)
            line = " ".join(told[n].split())
            check(f"{words}: no word more", line.startswith("daydrip chart p2 cefazolin "), True)
            done = run(where, *shlex.split(line)[2:])
            check(f"{words}: {line}", (done.returncode, done.stderr), (0, ""))
            row = rows(where)[-1]
            check(f"{words}: what is charted", (row["event"], row["order"], row["due"][11:16], row["due"][:10]), (wanted[0], "cefazolin", wanted[1], YESTERDAY))
            check(f"{words}: asked again", f"due {day('14:00')}: past its window and no entry: given or not?" in " ".join(page(where, evening if words == "given" else None).split()), False)


def many_writers():
    """Eight at once, fifty entries each, and the first of them makes the file."""
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        script = 'i=0; while [ $i -lt 50 ]; do "$0" chart p2 main rate "$1$i mL/h" --plan "$2" >/dev/null || echo lost; i=$((i + 1)); done'
        writers = [subprocess.Popen(["sh", "-c", script, BINARY, str(n + 1), str(where)], stdout=subprocess.PIPE) for n in range(8)]
        said = b"".join(w.communicate()[0] for w in writers)
        check("no entry refused", said, b"")
        charted = rows(where)
        check("four hundred rows", len(charted), 400)
        check("keys once each", [r["entry"] for r in charted], [f"e-{i:04d}" for i in range(1, 401)])
        check("none lost, none doubled", sorted(r["value"] for r in charted), sorted(f"{n + 1}{i} mL/h" for n in range(8) for i in range(50)))
        check("all are read", reads(where), (0, ""))
        check("nothing beside it", len(list(where.iterdir())), 5)


def killed():
    """Writers are killed at random moments. What was said to be charted is there, every row is whole. The system looks for a signal
    where a page of the file ends: a row that is cut there stays as an error, and nobody was told that it is charted."""
    chance = random.Random(1)
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        told, tried = set(), 0
        begin = time.monotonic()
        run(where, "p2", "main", "started")
        usual = time.monotonic() - begin
        end = time.monotonic() + 8
        while time.monotonic() < end:
            writers = []
            for _ in range(6):
                tried += 1
                writers.append(subprocess.Popen([BINARY, "chart", "p2", "main", "rate", f"{tried} mL/h", "--note", "n" * 400, "--plan", str(where)],
                                                stdout=subprocess.PIPE, stderr=subprocess.DEVNULL))
            time.sleep(usual * (0.5 + 4 * chance.random()))
            for writer in writers:
                writer.send_signal(signal.SIGKILL)
            told.update(out.split()[4].replace(",", "") for out in (w.communicate()[0].decode() for w in writers) if out.endswith("\n"))
        run(where, "p2", "main", "paused")
        data = (where / "chart.csv").read_bytes()
        charted = [r for r in rows(where) if None not in r]
        begins = itertools.accumulate((len(r) + 1 for r in data.split(b"\n")), initial=0)
        cut = [(at, r) for at, r in zip(begins, data.split(b"\n")) if r.endswith(b",cut off")]
        check("cut where a page ends", [r for at, r in cut if not re.fullmatch(rb'"?,+cut off', r[-at % 4096:])], [])
        check("every row is whole", (sorted(set(map(len, csv.reader(io.StringIO(data.decode())))) - ({14} if cut else set())), data[-1:]), ([13], b"\n"))
        check("keys once each", len({r["entry"] for r in charted}), len(charted))
        values = [r["value"] for r in charted if r["value"]]
        check("no value twice", len(set(values)), len(values))
        check("what was said is there", sorted(told - {r["value"].split(" ")[0] for r in charted}), [])
        check("all are read", (reads(where)[0], reads(where)[1].count("[too-many-cells]")), (3 if cut else 0, len(cut)))
        print(f"killed: {tried} writers, {len(charted)} rows, {len(told)} told")


def full_disk():
    """A write that fails half way: said, and the file as it was."""
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder)
        for _ in range(5):
            run(where, "p2", "main", "rate", "80 mL/h")
        before = (where / "chart.csv").read_bytes()
        for room in (0, 1, 30):
            def limit(most=len(before) + room):
                resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
            done = run(where, "p2", "main", "paused", preexec_fn=limit)
            check(f"no room but {room} bytes", (done.returncode, done.stdout, done.stderr, (where / "chart.csv").read_bytes()),
                  (4, "", f"daydrip: {where}/chart.csv: File too large\n         nothing was charted\n", before))
        check("and then there is room", run(where, "p2", "main", "paused").returncode, 0)
        none = plan(folder, name="none")

        def little():
            resource.setrlimit(resource.RLIMIT_FSIZE, (40, 40))
        done = run(none, "p2", "main", "started", preexec_fn=little)
        check("a chart that cannot be made", (done.returncode, sorted(p.name for p in none.iterdir())), (4, ["lines.csv", "orders.csv", "patients.csv", "ward.csv"]))
        small = pathlib.Path(folder) / "small"
        small.mkdir()
        if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(small)], stderr=subprocess.DEVNULL).returncode:
            print("note: no small file system could be mounted; the limit on file sizes stood in for it")
            return
        try:
            where = plan(small)
            run(where, "p2", "main", "started")
            with open(small / "filler", "wb") as filler:
                try:
                    filler.write(b"x" * (1 << 20))
                    filler.flush()
                except OSError:
                    pass
            told = 0
            while True:
                before = (where / "chart.csv").read_bytes()
                done = run(where, "p2", "main", "rate", "80 mL/h", "--note", "n" * 450)
                if done.returncode:
                    break
                told += 1
            check("a full disk", (done.returncode, done.stdout, done.stderr, (where / "chart.csv").read_bytes(), reads(where)),
                  (4, "", f"daydrip: {where}/chart.csv: No space left on device\n         nothing was charted\n", before, (0, "")))
            check("nothing is lost", len(rows(where)), told + 1)
        finally:
            subprocess.run(["umount", str(small)], check=False)


def locked():
    """Who holds the lock is waited for."""
    import fcntl
    with tempfile.TemporaryDirectory() as folder:
        where = plan(folder, HEADER + "\n")
        with open(where / "chart.csv", "r+b") as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            waiting = subprocess.Popen([BINARY, "chart", "p2", "main", "started", "--plan", str(where)], stdout=subprocess.PIPE)
            time.sleep(0.3)
            check("it waits", waiting.poll(), None)
            # meanwhile an editor saves: another file takes the place of the locked one
            (where / "saved").write_text(HEADER + "\ne-0009,p2,2026-11-20 08:00,,started,main,,,,,,,\n")
            (where / "saved").rename(where / "chart.csv")
            fcntl.flock(held, fcntl.LOCK_UN)
        check("it goes on with the file that is there", (waiting.communicate()[0][:6], len(rows(where))), (b"e-0010", 2))


def speed():
    with tempfile.TemporaryDirectory() as folder:
        people = "".join(f"p{i},bed{i},60 years,70 kg,none\n" for i in range(30))
        lines = "".join(f"p{i},left-arm,peripheral\np{i},right-arm,peripheral\n" for i in range(30))
        orders = "".join(f"p{i},main,hartmann,left-arm,,80 mL/h,1 L,,,\np{i},cefazolin,cefazolin 1 g in nacl-0.9,left-arm,piggyback,100 mL/h,50 mL,,,06:00 14:00\n"
                         f"p{i},drip,nacl-0.9,right-arm,,,500 mL,8 h,20 gtt/mL,\n" for i in range(30))
        where = plan(folder, patients="patient,bed,age,weight,allergies\n" + people, lines="patient,line,kind\n" + lines,
                     orders="patient,order,fluid,line,runs,rate,volume,over,set,times\n" + orders)
        run(where, "--from", "-", input="".join(f"bed{i % 30} main rate {40 + i % 50} mL/h\n" for i in range(1500)))
        times = []
        for i in range(20):
            begin = time.monotonic()
            run(where, f"bed{i}", "drip", "rate", "24 gtt/min")
            times.append(time.monotonic() - begin)
        print(f"speed: 30 patients, 1500 entries: {sorted(times)[10] * 1000:.1f} ms for one entry")


def main():
    for part in (forms, clocks, refused, others_errors, dialects, torn, changes, from_text, typed, many_writers, killed, full_disk, locked, speed):
        part()
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
