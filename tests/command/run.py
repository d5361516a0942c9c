#!/usr/bin/python3
"""The command as its users meet it: run.py BINARY. Figures worked out by hand, nights on which the clocks change, slips of typing,
broken files, and what is left behind. Ends with `N passed, N failed`.
"""
import csv
import io
import os
import pathlib
import re
import shutil
import signal
import stat
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = str(pathlib.Path(sys.argv[1]).resolve())
passed = failed = 0


def check(name, got, wanted):
    global passed, failed
    if got == wanted:
        passed += 1
    else:
        failed += 1
        print(f"{name}:\n  wanted {wanted!r}\n  got    {got!r}")


def run(*words, cwd=ROOT, **more):
    if words[0] in ("schedule", "totals") and "--at" not in words:  # the clock may lie in a plan's day: it is not asked
        ward = cwd / pathlib.Path(words[1]) / "ward.csv"
        begins = [row.split(",")[1] for row in ward.read_text().splitlines() if row.startswith("begins,")] if ward.exists() else []
        words += ("--at", begins[0]) if begins else ()
    return subprocess.run([BINARY, *map(str, words)], cwd=cwd, capture_output=True, text=True, **more)


def rows(*words):
    done = run(*words, "--format", "csv")
    assert done.returncode == 0, done.stderr
    return list(csv.DictReader(io.StringIO(done.stdout)))


def copy(plan, folder):
    return pathlib.Path(shutil.copytree(ROOT / "plans" / plan, pathlib.Path(folder) / plan))


def hand_worked():
    """Worked out with pencil and paper; the sums stand beside each check."""
    cot = rows("schedule", "plans/larkfield", "--patient", "bay3-cot1")
    main = [r for r in cot if r["order"] == "main"]
    # 80 % of 900 mL = 720; less 3 doses of 10, 3 flushes of 2, 8 feeds of 20 = 524; 24 h less 3 x 36 min = 22.2 h; 23.603: floor 23.6
    check("remainder of bay3-cot1", {r["rate_ml_per_h"] for r in main}, {"23.6"})
    # bag 1: 500 - 20 priming = 480; 480 / 23.6 h = 20 h 20 min 21 s flowing, and 3 x 36 min stopped before
    check("bay3-cot1 bag 2", next(r["from"] for r in main if r["bag"] == "2"), "2026-11-26T05:08:21-05:00")
    bed2 = [r for r in rows("schedule", "plans/larkfield", "--patient", "bay1-bed2") if r["order"] == "main"]
    # 400 mL at 80 mL/h: 5 h. 1,000 mL: 12:00 to 14:00, 36 min stopped, 14:36 to 22:00, 36 min stopped, 248 mL left: 3 h 06 min
    check("bay1-bed2 bag 2 up", next(r["from"] for r in bed2 if r["bag"] == "2"), "2026-11-25T12:00:00-05:00")
    check("bay1-bed2 bag 2 dry", [r["to"] for r in bed2 if r["bag"] == "2"][-1], "2026-11-26T01:42:00-05:00")
    check("bay1-bed2 bag 3 up", next(r["from"] for r in bed2 if r["bag"] == "3"), "2026-11-26T01:42:00-05:00")
    # 500 mL over 8 h: 62.5 mL/h; x 20 / 60 = 20.83: 21 drops/min = 63 mL/h; 500 / 63 h = 7 h 56 min 12 s
    drip = [r for r in rows("schedule", "plans/gravity") if r["order"] == "drip"]
    check("gravity", [(r["rate_ml_per_h"], r["from"], r["to"]) for r in drip],
          [("63", "2026-11-25T15:00:00-05:00", "2026-11-25T22:56:12-05:00")])
    text = run("rate", "--volume", "500mL", "--over", "8h", "--set", "20gtt/mL", "--start", "15:00").stdout
    check("gravity in words", "21 drops/min" in text, True)


def charted_day():
    """The demo ward's day as it was charted, seen at 19:00: every sum worked out by hand."""
    at = ("--at", "2026-11-25 19:00")
    bed2 = rows("schedule", "plans/larkfield", "--patient", "bay1-bed2", *at)
    # bag 2 of 1,000: 12:00 to 14:00 160, 14:36 to 19:00 352, so 488 left; 240 by 22:00; 248 left at 22:36; 3 h 06 min
    check("main bag 2 dry", [r["to"] for r in bed2 if r["order"] == "main" and r["bag"] == "2"][-1], "2026-11-26T01:42:00-05:00")
    check("main bag 2 to come", sum(float(r["volume_ml"]) for r in bed2 if r["order"] == "main" and r["bag"] == "2" and r["basis"] == "planned"), 488.0)
    # 288 mL read in the bag at 19:00: 212 in since 15:00; 288 / 63 h = 4 h 34 min 18 s
    drip = [(r["from"][11:19], r["to"][11:19], r["volume_ml"], r["basis"]) for r in bed2 if r["order"] == "drip"]
    check("drip", drip, [("15:00:00", "19:00:00", "212", "charted"), ("19:00:00", "23:34:18", "288", "planned")])
    hourly = rows("totals", "plans/larkfield", "--patient", "bay1-bed2", "--by", "hour", *at)
    check("drip, spread over its hours", {r["volume_ml"] for r in hourly if "T15" <= r["from"][10:13] <= "T18" and r["category"] == "fluid" and r["direction"] == "in"}, {"133"})
    shifts = rows("totals", "plans/larkfield", "--patient", "bay1-bed2", "--by", "shift", *at)
    day = [r for r in shifts if r["basis"] == "charted"]
    check("day in", sum(float(r["volume_ml"]) for r in day if r["direction"] == "in"), 1544.0)  # 912 + 100 + 20 + 212 + 300
    check("day out", sum(float(r["volume_ml"]) for r in day if r["direction"] == "out"), 910.0)  # 200 + 260 + 240 + 120 + 90
    check("one vomit not measured", [(r["category"], r["volume_ml"], r["unknown"]) for r in day if r["unknown"] != "0"], [("vomit", "0", "1")])
    cot = rows("schedule", "plans/larkfield", "--patient", "bay3-cot1", *at)
    # 480 less 254.9 read at 19:00: 225.1 left; 225.1 / 23.6 h = 9 h 32 min 18 s, 36 min stopped
    check("cot bag 2", next(r["from"] for r in cot if r["order"] == "main" and r["bag"] == "2"), "2026-11-26T05:08:18-05:00")
    check("cot to come", sum(float(r["volume_ml"]) for r in cot if r["order"] == "main" and r["bag"] == "1" and r["basis"] == "planned"), 225.1)
    check("18:00 feed is nobody's guess", [r for r in cot if r["due"].startswith("2026-11-25T18:00")], [])
    cot_day = [r for r in rows("totals", "plans/larkfield", "--patient", "bay3-cot1", "--by", "shift", *at) if r["basis"] == "charted" and r["direction"] == "in"]
    check("cot in by day", (round(sum(float(r["volume_ml"]) for r in cot_day), 3), [r["category"] for r in cot_day if r["unknown"] == "1"]), (338.9, ["feed"]))
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("larkfield", folder)
        chart = plan / "chart.csv"
        text = chart.read_text()
        # given after all: 358.9 mL
        chart.write_text(text + "e-0900,bay3-cot1,2026-11-25 18:00,2026-11-25 19:00,started,feed,2026-11-25 18:00,,,,MT,,\n")
        given = rows("totals", plan, "--patient", "bay3-cot1", "--by", "shift", *at)
        check("with the 18:00 feed", sum(float(r["volume_ml"]) for r in given if r["basis"] == "charted" and r["direction"] == "in"), 358.9)
        # a page of 07:00 made again: the same bytes, whatever was charted since
        early = ("--at", "2026-11-25 07:00", "--known", "2026-11-25 07:00")
        page = run("report", plan, *early).stdout
        chart.write_text("".join(r for r in text.splitlines(True) if r.startswith("entry") or "2026-11-25 07:00" in r))
        check("07:00 made again", run("report", plan, *early).stdout, page)
        # without --known what came later is counted, and said to be missing from the figures; Python's csv reader counts too
        chart.write_text(text)
        for bed in ("bay1-bed2", "bay3-cot1"):
            later = [r for r in csv.DictReader(io.StringIO(text)) if r["patient"] == bed and max(r["time"], r["entered"]) > "2026-11-25 17:30"]
            line = f" {len(later)} entries are later than Wed 17:30 and not counted"
            for words in (("report",), ("check",), ("totals",), ("due",)):
                page = run(*words, plan, "--patient", bed, "--at", "2026-11-25 17:30").stdout
                check(f"{words[0]} of {bed}: later entries", line in page, True)
                page = run(*words, plan, "--patient", bed, "--at", "2026-11-25 17:30", "--known", "2026-11-25 17:30").stdout
                check(f"{words[0]} of {bed}: as it was known", "later than Wed 17:30" in page, False)
        one = text + "e-0901,bay1-bed2,2026-11-25 17:00,2026-11-25 19:30,output,,,,urine,300 mL,KL,,\n"  # happened before, written down after
        chart.write_text(one)
        check("written down later", " 1 entry is later than Wed 19:00 and not counted" in run("report", plan, *at).stdout, True)
        # an entry for another bed leaves a page's code as it was; one for this bed changes it
        code = lambda: run("report", plan, "--patient", "bay1-bed2", "--no-pages", *at).stdout.splitlines()[2].split()[-1]  # noqa: E731
        chart.write_text(text)
        before = code()
        chart.write_text(text + "e-0901,bay1-bed3,2026-11-25 18:30,2026-11-25 18:30,output,,,,urine,300 mL,KL,,\n")
        check("another bed's entry", code(), before)
        chart.write_text(text + "e-0901,bay1-bed2,2026-11-25 18:30,2026-11-25 18:30,output,,,,urine,300 mL,KL,,\n")
        check("this bed's entry", code() != before, True)
        # a struck entry leaves the plan as if it had not been
        chart.write_text(text)
        plain = run("schedule", plan, *at, "--format", "csv").stdout
        chart.write_text(text + "e-0901,bay1-bed2,2026-11-25 18:30,2026-11-25 18:30,paused,main,,,,,KL,,\n"
                                "e-0902,bay1-bed2,2026-11-25 18:40,2026-11-25 18:40,struck,,,,,,KL,e-0901,\n")
        check("struck", run("schedule", plan, *at, "--format", "csv").stdout, plain)


# The children of the demo ward at 19:00, 24 h on, as drawn and worked out by hand: need, ordered, all % and maintenance % of the need,
# mL/kg; then sodium of the fluid, sodium, potassium, its highest, glucose, its highest, each per kg.
CHILDREN = {
    # 900 = 100 x 9. 523.9 + doses 30 + flushes 6 + feeds 160 = 720; 523.9 / 900. 154 x (0.5239 + 0.036) / 9; 20 x 0.5239 / 9;
    # 23.6 x 0.02 / 9; 26.2 g / 9; 23.6 x 50 / 60 / 9
    "bay3-cot1": ("900", "720", "80", "58", "80", "154", "9.6", "1.2", "0.05", "2.9", "2.2"),
    # day 4: 100 to 120 x 3.2. 14 x 24 + 2 x (2 + 1) = 342. (30 x 0.336 + 154 x 0.006) / 3.2; 20 x 0.336 / 3.2; 33.6 g / 3.2; 1,400 / 60 / 3.2
    "bay3-cot2": ("320 to 384", "342", "n/a", "n/a", "107", "30", "3.4", "2.1", "0.09", "10.5", "7.3"),
    # 1,900 = 1,500 + 20 x 20. 112.5 x 24 + 2 x 24 = 2,748; for replacement all of it. 154 x 2.748 / 40; 40 x 2.7 / 40; 112.5 x 0.04 / 40
    "bay3-bed1": ("1,900", "2,748", "145", "n/a", "69", "154", "10.6", "2.7", "0.11", "0", "0"),
    # 65 x 24 = 1,560
    "bay3-bed2": ("1,560", "1,560", "100", "100", "68", "154", "10.4", "1.4", "0.06", "3.4", "2.4"),
    # 62.5 x 24 + 64.3 x 2 + 28.1 x 16 = 2,078.2. (154 x 1.5 + 131 x 0.5782) / 20; 5 x 0.5782 / 20; 64.3 x 0.005 / 20
    "bay4-bed1": ("1,500", "2,078", "139", "100", "104", "154", "15.3", "0.1", "0.02", "3.8", "2.6"),
    # 54.2 x 22.1875 = 1,202.6, doses 72, flushes 15
    "bay4-bed2": ("1,300", "1,290", "99", "93", "81", "154", "12.4", "1.5", "0.07", "3.8", "2.8"),
    "bay4-bed3": ("2,340", "2,340", "100", "100", "38", "154", "5.8", "0.8", "0.03", "1.9", "1.3"),
    # 12 feeds of 65 mL; what they hold is not known
    "bay4-cot1": ("650", "780", "n/a", "n/a", "120", "n/a", "?", "?", "?", "?", "?"),
    # 41.6 x 24 = 998.4
    "bay4-cot2": ("1,000", "998", "100", "100", "100", "154", "15.4", "2", "0.08", "5", "3.5"),
    # 69.2 x 24 = 1,660.8; 30 x 1.6608 / 28 = 1.8
    "bay4-bed4": ("1,660", "1,661", "100", "100", "59", "30", "1.8", "1.2", "0.05", "2.4", "1.6"),
}


def side_by_side():
    page = run("maintenance", "plans/larkfield", "--at", "2026-11-25 19:00", "--no-pages").stdout.splitlines()
    for bed, drawn in CHILDREN.items():
        found = [line.replace(" to ", "~").split() for line in page if line.startswith(bed + " ")]
        tables = [cells for cells in found if len(cells) in (7, 10) and (cells[1][0].isdigit() or cells[1] == "n/a")]
        check(f"{bed} in two tables", len(tables), 2)
        if len(tables) == 2:
            check(bed, tuple(c.replace("~", " to ") for c in tables[0][4:9] + tables[1][1:7]), drawn)
    # 10 mL at 20 mL/h and 2 mL of flush: 36 min, three times; 24 mL at 48 mL/h and 5 mL: 36 min 15 s
    check("where glucose stops", [line for line in page if line.startswith("Glucose stops")],
          ["Glucose stops: bay3-cot1 36 min, 3 times; bay4-bed2 36 min, 3 times."])
    check("where there is none", [line for line in page if line.startswith("No glucose")], ["No glucose at all by vein: bay3-bed1."])
    # 3 days at 07:00: four days, the fifth day of life, at the next 07:00
    check("the next range", "from Thu 07:00, by the age in the table, 120 to 150" in " ".join(" ".join(page).split()), True)
    table = {row["patient"]: row for row in rows("maintenance", "plans/larkfield", "--at", "2026-11-25 07:00")}
    # 23.6 mL/h for 24 h less 3 x 36 min = 523.92; 30 + 6 + 160: 719.92 of 900. 80 x 10^-3 L/h x 20 / 82
    check("rows of the window", [table["bay3-cot1"][c] for c in ("weight_kg", "maintenance_ml_per_day", "maintenance_ml_per_h", "ordered_ml_per_day",
          "percent", "glucose_gap_min")], ["9", "900", "37.5", "719.916", "58.213", "36"])
    check("rows of an adult", [table["bay1-bed2"][c] for c in ("maintenance_ml_per_day", "percent", "ordered_ml_per_day",
          "potassium_peak_mmol_per_kg_per_h")], ["", "", "2636", "0.023"])
    check("one patient of many", run("maintenance", "plans/larkfield", "--patient", "bay3-cot1", "--format", "csv", "--at", "07:00").stdout.count("\n"), 2)
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("weights", folder)
        here = run("maintenance", "--at", "07:00", cwd=plan)
        check("the current folder", (here.returncode, here.stdout), (0, run("maintenance", plan, "--at", "07:00").stdout))
        dated = plan.rename(plan.parent / "2026-11-25")
        check("a folder whose name begins with digits", run("maintenance", "2026-11-25", "--at", "07:00", cwd=dated.parent).stdout, here.stdout)
        weight = dated.rename(dated.parent / "18.5kg")
        check("a weight before a folder", run("maintenance", "18.5kg", "--format", "csv", cwd=weight.parent).stdout.split()[0], "quantity,value,unit")
        check("that folder all the same", run("maintenance", "./18.5kg", "--at", "07:00", cwd=weight.parent).stdout, here.stdout)


def impossible_entries():
    """What cannot be is said and does not count; what is malformed stops its patient only."""
    at = ("--at", "2026-11-25 19:00")
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("larkfield", folder)
        chart = plan / "chart.csv"
        text = chart.read_text()
        plain = run("schedule", plan, *at, "--format", "csv").stdout
        for event, value in (("resumed", ""), ("started", ""), ("omitted", ""), ("reading", "given 9000 mL"), ("reading", "left 900 mL")):
            chart.write_text(text + f"e-0901,bay1-bed2,2026-11-25 18:59,2026-11-25 18:59,{event},drip,,,,{value},KL,,\n")
            done = run("schedule", plan, *at, "--format", "csv")
            check(f"{event} {value}: does not stop the plan", (done.returncode, done.stdout), (0, plain))
            page = run("report", plan, "--patient", "bay1-bed2", "--no-pages", *at).stdout
            check(f"{event} {value}: is said", "[impossible-entry]" in page and " CLARIFY " in page, True)
        for row in ("e-0901,bay1-bed2,2026-11-25 18:59,2026-11-25 18:59,reading,drip,,,,288,KL,,", "e-0901,bay1-bed2,2026-11-25 18:59,2026-11-25 18:50,paused,drip,,,,,KL,,",
                    "e-0901,bay1-bed2,2026-11-25 18:59,2026-11-25 18:59,hurried,drip,,,,,KL,,", "e-0031,bay1-bed2,2026-11-25 18:59,,struck,,,,,,KL,e-9999,"):
            chart.write_text(text + row + "\n")
            done = run("schedule", plan, *at, "--format", "csv")
            check(f"malformed: {row}", (done.returncode, done.stdout), (3, "".join(r for r in plain.splitlines(True) if not r.startswith("bay1-bed2,"))))


def small_plan(folder, orders, entries):
    """One patient with two lines, from 07:00: orders as `order,fluid,line,runs,rate,volume,over,bag,start,hanging,replaces`, entries as
    `time,event,order,line,value`."""
    plan = pathlib.Path(tempfile.mkdtemp(dir=folder))
    (plan / "ward.csv").write_text("setting,value\nward,Larkfield\nplan,6f1c2a54-90be-4f0e-9c1d-0123456789ab\ntimezone,America/New_York\nbegins,2026-11-25 07:00\n")
    (plan / "patients.csv").write_text("patient,age,weight,allergies\np1,60 years,70 kg,none\n")
    (plan / "lines.csv").write_text("patient,line,kind\np1,arm,peripheral\np1,hand,peripheral\n")
    (plan / "orders.csv").write_text("patient,order,fluid,line,runs,rate,volume,over,bag,start,hanging,replaces\n" + "".join(f"p1,{o}\n" for o in orders))
    (plan / "chart.csv").write_text("entry,patient,time,event,order,line,value\n" + "".join(f"e{i},p1,2026-11-25 {e}\n" for i, e in enumerate(entries)))
    return plan


def flows(plan, order, at):
    return [(r["line"], r["bag"], r["from"][11:16], r["to"][11:16], r["volume_ml"])
            for r in rows("schedule", plan, "--at", f"2026-11-25 {at}") if r["order"] == order]


def before_the_plan():
    """What was charted before 07:00 counts for bags and volumes, and stands nowhere."""
    main = "main,nacl-0.9,arm,,100 mL/h,,,500 mL,,,"
    litre = "main,nacl-0.9,arm,,100 mL/h,1 L,,500 mL,,,"
    cells = "cells,red-cells,arm,,,300 mL,6 h,,,,"
    dose = "abx,cefazolin 1 g in nacl-0.9,arm,piggyback,,100 mL,30 min,,07:10,,"
    with tempfile.TemporaryDirectory() as folder:
        def first(order, entries, at="07:00", count=1, name="main"):
            return flows(small_plan(folder, order if isinstance(order, list) else [order], entries), name, at)[:count]
        # 500 mL at 100 mL/h from 06:00: dry at 11:00
        check("a bag up since 06:00", first(main, ["06:00,started,main,,"], count=2),
              [("arm", "1", "07:00", "11:00", "400"), ("arm", "2", "11:00", "16:00", "500")])
        plan = small_plan(folder, [main], ["06:00,started,main,,"])
        check("only the window is counted", [r["volume_ml"] for r in rows("totals", plan, "--by", "day")], ["2400"])
        check("and said on the page", "400 mL   Wed 11:00" in run("report", plan, "--no-pages", "--at", "2026-11-25 07:00").stdout, True)
        # 1 L at 100 mL/h from 06:00: in at 16:00
        check("a volume begun at 06:00", first(litre, ["06:00,started,main,,"], count=9),
              [("arm", "1", "07:00", "11:00", "400"), ("arm", "2", "11:00", "16:00", "500")])
        # 05:00 to 05:30 50 mL, 06:00 to 06:30 50 mL, then 200 mL/h: 100 mL by 07:00, 300 mL left, 1 h 30 min
        check("paused, resumed, another rate", first(main, ["05:00,started,main,,", "05:30,paused,main,,", "06:00,resumed,main,,", "06:30,rate,main,,200 mL/h"]),
              [("arm", "1", "07:00", "08:30", "300")])
        # 440 mL left at 06:45 last 4 h 24 min
        check("a level read at 06:45", first(main, ["06:00,started,main,,", "06:45,reading,main,,left 440 mL"]), [("arm", "1", "07:00", "11:09", "415")])
        # 300 mL in by 08:00 instead of 200: 150 of them from 07:00 on; 200 left at 100 mL/h
        check("a reading at 08:00", first(main, ["06:00,started,main,,", "08:00,reading,main,,given 300 mL"], "08:00", 2),
              [("arm", "1", "07:00", "08:00", "150"), ("arm", "1", "08:00", "10:00", "200")])
        check("a bag changed at 06:40", first(main, ["02:00,started,main,,", "06:40,hung,main,,"]), [("arm", "2", "07:00", "11:40", "466.667")])
        check("a bag empty since 06:00 and none hung", first(main, ["01:00,started,main,,"], "07:30"), [("arm", "2", "07:30", "12:30", "500")])
        check("stopped at 06:50", first(main, ["06:00,started,main,,", "06:50,stopped,main,,"], "08:00", 9), [])
        # 50 mL/h from 05:00: 4 h are over at 09:00
        check("blood up since 05:00", first(cells, ["05:00,started,cells,,"], "07:00", 9, "cells"), [("arm", "1", "07:00", "09:00", "100")])
        both = [main, dose], ["06:00,started,main,,", "06:45,started,abx,,"]
        check("a dose since 06:45", first(*both, "07:00", 9, "abx"), [("arm", "1", "07:00", "07:15", "50")])
        # 45 min before it, so 425 mL from 07:15 on: 4 h 15 min
        check("and the primary behind it", first(*both), [("arm", "1", "07:15", "11:30", "425")])
        # what hung at 07:00 stands in the row: dry at 10:00 whatever is charted from before, and that is said
        plan = small_plan(folder, ["main,nacl-0.9,arm,,100 mL/h,,,500 mL,,300 mL,"], ["06:00,started,main,,"])
        check("in the row already", flows(plan, "main", "07:00")[0], ("arm", "1", "07:00", "10:00", "300"))
        check("which is said", "[impossible-entry]" in run("report", plan, "--no-pages", "--at", "2026-11-25 07:00").stdout, True)


def moved_and_replaced():
    """What replaces an order that was moved goes on where that is, at once; another order has the line of its row."""
    orders = ["old,nacl-0.9,arm,,100 mL/h,,,1 L,,,", "block,glucose-5,arm,,50 mL/h,1 L,,,09:00,,", "new,nacl-0.9,arm,,80 mL/h,,,1 L,12:00,,old"]
    moved = ["07:00,started,old,,", "09:00,moved,old,hand,", "09:00,started,block,,"]
    with tempfile.TemporaryDirectory() as folder:
        def new(entries, at, order="new"):
            return flows(small_plan(folder, orders, entries), order, at)
        # 500 mL left at 12:00 last 6 h 15 min at 80 mL/h
        check("as planned", new(moved, "10:00")[0], ("hand", "1", "12:00", "18:15", "500"))
        check("old ends then", new(moved, "10:00", "old")[-1], ("hand", "1", "10:00", "12:00", "200"))
        check("block has its line", {r[0] for r in new(moved, "10:00", "block")}, {"arm"})
        started = moved + ["12:00,started,new,,"]
        check("charted as planned", new(started, "12:00"), new(moved, "10:00"))
        check("and block goes on", new(started, "12:00", "block"), [("arm", "1", "09:00", "12:00", "150"), ("arm", "1", "12:00", "05:00", "850")])
        # paused at 10:00: 700 mL left last 8 h 45 min
        check("old is paused", new(moved + ["10:00,paused,old,,"], "11:00")[0], ("hand", "1", "12:00", "20:45", "700"))
        check("old was moved back", new(moved + ["10:00,moved,old,arm,"], "11:00")[0], ("arm", "1", "12:00", "18:15", "500"))
        # nothing can flow on the hand: the line of its row, behind block; 600 mL are left in the bag
        check("the hand is out", new(moved + ["11:00,removed,,hand,"], "11:30"), [("arm", "1", "05:00", "07:00", "160")])
        check("and in again", new(moved + ["11:00,removed,,hand,", "11:30,placed,,hand,"], "11:30")[0][:4], ("hand", "1", "12:00", "18:52"))
        # a bag is to go on at 10:00, and another order took its place at 09:00
        hangs = ["old,nacl-0.9,arm,,100 mL/h,,,1 L,10:00,300 mL,", "new,nacl-0.9,arm,,80 mL/h,,,1 L,09:00,,old"]
        plan = small_plan(folder, hangs, ["09:00,started,new,,"])
        check("replaced before it went on", (flows(plan, "old", "11:00"), flows(plan, "new", "11:00")[0]), ([], ("arm", "1", "09:00", "11:00", "160")))
        check("old was stopped", new(moved + ["11:00,stopped,old,,"], "11:30"), [("arm", "1", "05:00", "07:00", "160")])


def looked_at_after_a_move():
    """What runs and is moved to another site, or goes on in a line placed anew, is looked at 30 min later, once; by rule, at the earliest
    10 min before (site-check-first, check-early). What the list asks for is what is overdue a minute later."""
    main = ["main,nacl-0.9,arm,,100 mL/h,,,1 L,,,"]
    with tempfile.TemporaryDirectory() as folder:
        def first_looks(entries, at):
            plan = small_plan(folder, main, entries)
            return [(r["line"], r["at"][11:16], r["earliest"][11:16], r["latest"][11:16]) for r in rows("due", plan, "--at", f"2026-11-25 {at}", "--for", "90min")
                    if r["task"] == "check" and r["detail"].startswith("first look")], \
                   [(r["line"], r["at"][11:16]) for r in csv.DictReader(run("check", plan, "--format", "csv", "--at", "2026-11-25 08:56").stdout.splitlines()) if r["finding"] == "overdue"]
        moved = ["07:00,started,main,,", "08:00,checked,,arm,clean", "08:25,moved,main,hand,"]
        check("moved at 08:25", first_looks(moved, "08:26"), ([("hand", "08:55", "08:45", "08:55")], [("hand", "08:55")]))
        check("looked at in time", first_looks(moved + ["08:46,checked,,hand,clean"], "08:47"), ([], []))
        check("looked at too early", first_looks(moved + ["08:40,checked,,hand,clean"], "08:41"), ([("hand", "08:55", "08:45", "08:55")], [("hand", "08:55")]))
        check("on the round", first_looks(["07:00,started,main,,", "08:32,moved,main,hand,"], "08:33")[0], [("hand", "09:00", "08:52", "09:02")])
        anew = ["07:00,started,main,,", "08:00,checked,,arm,clean", "08:10,removed,,arm,", "08:25,placed,,arm,", "08:25,resumed,main,,"]
        check("placed anew", first_looks(anew, "08:26"), ([("arm", "08:55", "08:45", "08:55")], [("arm", "08:55")]))
        # soon after its start: the look after that is the look after the move
        check("moved soon", first_looks(["08:15,started,main,,", "08:25,moved,main,hand,"], "08:26"), ([("hand", "08:55", "08:45", "08:55")], [("hand", "08:55")]))
        check("moved twice", [look[0] for look in first_looks(["07:00,started,main,,", "08:25,moved,main,hand,", "08:30,moved,main,arm,"], "08:31")[0]], ["arm"])


def clock_nights():
    """A steady 80 mL/h between doses: every hour has its own volume, the night its own number of hours."""
    for plan, hours, longest in (("clocks-forward", 23, 3600), ("clocks-back", 25, 3600), ("half-hour", 23.5, 5400)):
        whole = rows("totals", f"plans/{plan}", "--by", "day")
        hourly = rows("totals", f"plans/{plan}", "--by", "hour")
        from datetime import datetime
        span = {(datetime.fromisoformat(r["from"]), datetime.fromisoformat(r["to"])) for r in hourly}
        seconds = sorted((b - a).total_seconds() for a, b in span)
        check(f"{plan}: hours", sum(seconds) / 3600, hours)
        check(f"{plan}: longest period", seconds[-1], longest)
        check(f"{plan}: on the hour", {(a.minute, a.second) for a, _ in span}, {(0, 0)})
        for patient in {r["patient"] for r in whole}:
            day = sum(float(r["volume_ml"]) for r in whole if r["patient"] == patient)
            parts = sum(float(r["volume_ml"]) for r in hourly if r["patient"] == patient)
            check(f"{plan}: {patient} hours make the day", abs(day - parts) < 0.02, True)


def half_hour_back():
    """Lord Howe goes back by half an hour too: 24.5 h, and the hour with the change is 30 min longer."""
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("half-hour", folder)
        ward = (plan / "ward.csv").read_text()
        for name in ("ward", "lines", "orders", "patients"):
            path = plan / f"{name}.csv"
            path.write_text(path.read_text().replace("2026-10-03", "2026-04-04").replace("2026-10-04", "2026-04-05")
                            .replace("2026-10-02", "2026-04-03").replace("2026-10-01", "2026-04-02"))
        check("the plan moved", (plan / "ward.csv").read_text() != ward, True)
        from datetime import datetime
        hourly = rows("totals", plan, "--by", "hour")
        span = {(datetime.fromisoformat(r["from"]), datetime.fromisoformat(r["to"])) for r in hourly}
        check("half-hour back: hours", sum((b - a).total_seconds() for a, b in span) / 3600, 24.5)


def one_slip():
    """One mistyped cell stops one patient, says where and what was expected, and the bytes of all others stay."""
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("larkfield", folder)
        before = run("schedule", plan, "--format", "csv")
        check("the demo plan has no error", (before.returncode, before.stderr), (0, ""))
        orders = plan / "orders.csv"
        text = orders.read_text()
        line = next(i for i, row in enumerate(text.splitlines(), 1) if row.startswith("bay1-bed2,main"))
        orders.write_text(text.replace("bay1-bed2,main,", "bay1-bed2,main,").replace(",80 mL/h,", ',"80,5 mL/h",', 1))
        after = run("schedule", plan, "--format", "csv")
        check("exit status", after.returncode, 3)
        column = text.splitlines()[line - 1].index(",80 mL/h,") + 2
        check("place", after.stderr.splitlines()[0], f'orders.csv:{line}:{column}: rate: comma in the number "80,5 mL/h" [number-comma]')
        check("expected", "expected a rate such as 83.3 mL/h" in after.stderr, True)
        check("verdict", after.stderr.splitlines()[-1].endswith("1 error; 1 of 16 patients not planned"), True)
        check("the others' bytes", after.stdout, "".join(r for r in before.stdout.splitlines(True) if not r.startswith("bay1-bed2,")))
        page = run("report", plan, "--at", "2026-11-25 19:00", "--no-pages").stdout
        check("pages say so", page.splitlines()[3], "NOT PLANNED: bay1-bed2, 1 error")
        # whatever else is wrong with one row, nobody else changes
        for slip in ("8O mL/h", "80", "80 cc", "-80 mL/h", ".5 mL/h", "1.23E+13", "80 mL/h mL", "\u0660 mL/h", "0 mL/h", "99999999999 mL/h"):
            orders.write_text(text.replace(",80 mL/h,", f",{slip},", 1))
            done = run("schedule", plan, "--format", "csv")
            check(f"slip {slip}", (done.returncode, done.stdout), (3, after.stdout))


def files_and_limits():
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("sequence", folder)
        whole = run("schedule", plan, "--format", "csv").stdout
        out = pathlib.Path(folder) / "out.csv"
        check("--output", (run("schedule", plan, "--format", "csv", "--output", out).stdout, out.read_text()), ("", whole))
        check("its mode", stat.S_IMODE(out.stat().st_mode), 0o600)
        real = pathlib.Path(folder) / "real.csv"
        real.write_text("old")
        link = pathlib.Path(folder) / "link.csv"
        link.symlink_to(real)
        run("schedule", plan, "--format", "csv", "--output", link)
        check("a link is followed", (link.is_symlink(), real.read_text()), (True, whole))
        check("no such folder", run("schedule", plan, "--output", "/no/such/folder/out").returncode, 4)
        check("nothing left behind", sorted(p.name for p in pathlib.Path(folder).iterdir()), ["link.csv", "out.csv", "real.csv", "sequence"])
        if os.path.exists("/dev/full"):
            with open("/dev/full", "w") as full:
                done = subprocess.run([BINARY, "schedule", plan, "--format", "csv"], stdout=full, stderr=subprocess.PIPE, text=True)
            check("a full disk", (done.returncode, "standard output" in done.stderr), (4, True))
        check("no plan", run("schedule", pathlib.Path(folder) / "nowhere").returncode, 4)
        (plan / "patients.csv").rename(plan / "x_patients.csv")
        done = run("schedule", plan)
        check("a table is missing", (done.returncode, done.stderr.split(":")[0]), (3, "patients.csv"))
        (plan / "x_patients.csv").rename(plan / "patients.csv")
        if os.geteuid() == 0:
            (plan / "pauses.csv").symlink_to("/proc/self/mem")
        else:
            (plan / "pauses.csv").write_text("")
            (plan / "pauses.csv").chmod(0)
        check("a table that cannot be read", run("schedule", plan).returncode, 4)


def long_chain():
    """10,000 orders, each after the one before: no recursion, no circle, every one in its second."""
    with tempfile.TemporaryDirectory() as folder:
        plan = pathlib.Path(folder)
        (plan / "ward.csv").write_text("setting,value\nward,Larkfield\ntimezone,America/Lima\nbegins,2026-11-25 07:00\n")
        (plan / "patients.csv").write_text("patient,age,weight,allergies\nbay1-bed1,50 years,70 kg,none\n")
        (plan / "lines.csv").write_text("patient,line,kind\nbay1-bed1,arm,peripheral\n")
        orders = ["patient,order,fluid,line,rate,volume,start\n"]
        orders += [f"bay1-bed1,o-{i},nacl-0.9,arm,360 mL/h,0.6 mL,{'after o-%d' % (i - 1) if i else ''}\n" for i in range(10000)]
        (plan / "orders.csv").write_text("".join(orders))
        done = run("schedule", plan, "--format", "csv")
        last = done.stdout.splitlines()[-1]
        # 0.6 mL at 360 mL/h: 6 s each; the last begins 59,994 s after 07:00, at 23:39:54
        check("10,000 in a chain", (done.returncode, last), (0, "bay1-bed1,arm,o-9999,,bag,1,2026-11-25T23:39:54-05:00,2026-11-25T23:40:00-05:00,360,0.6,planned"))
        orders[1] = orders[1].replace(",\n", ",after o-9999\n")
        (plan / "orders.csv").write_text("".join(orders))
        done = run("schedule", plan, "--format", "csv")
        check("a circle of 10,000", (done.returncode, "[after-circle]" in done.stderr), (3, True))


def moments():
    yesterday = run("report", "plans/larkfield")  # the demo ward's day is not today, unless it is
    if yesterday.returncode != 0:
        check("yesterday's folder prints no page", (yesterday.returncode, yesterday.stdout, "2026-11-25 07:00" in yesterday.stderr), (2, "", True))
    for at in ("19:00", "Wed 19:00", "2026-11-25 19:00", "2026-11-25T19:00:00-05:00", "2026-11-26T00:00Z"):
        page = run("report", "plans/larkfield", "--at", at, "--no-pages").stdout
        check(f"--at {at}", page.splitlines()[2][:34], "made Wed 25 Nov 19:00 (UTC-05:00)  "[:34])
    night = rows("schedule", "plans/larkfield", "--shift", "night")
    check("--shift", min(r["to"] for r in night) > "2026-11-25T19:00", True)
    check("--team", {r["patient"] for r in rows("schedule", "plans/larkfield", "--team", "A")} <= {f"bay{b}-bed{n}" for b in (1, 2) for n in (1, 2, 3, 4)}, True)
    for verb, options in (("label", ["--since", "--working", "--brief"]), ("maintenance", ["--since", "--working"]), ("compare", ["--since", "--from"])):
        for option in options: # what a verb would pass over it refuses
            done = run(verb, "plans/larkfield", "--at", "19:00", option, *(["07:00"] if option in ("--since", "--from") else []))
            check(f"{verb} {option}", (done.returncode, "Unknown option" in done.stderr, done.stdout), (2, True, ""))
    locale = dict(os.environ, LC_ALL="de_DE.UTF-8", LANG="de_DE.UTF-8", TZ="Asia/Tokyo")
    check("no locale, no TZ", run("schedule", "plans/larkfield", env=locale).stdout, run("schedule", "plans/larkfield").stdout)


def new_folders():
    with tempfile.TemporaryDirectory() as folder:
        demo = pathlib.Path(folder) / "demo"
        check("new --demo", run("new", demo, "--demo").returncode, 0)
        check("the demo is the demo ward", run("schedule", demo, "--format", "csv").stdout, run("schedule", "plans/larkfield", "--format", "csv").stdout)
        check("never written over", run("new", demo, "--demo").returncode, 4)
        empty = pathlib.Path(folder) / "empty"
        check("new", run("new", empty, "--timezone", "Europe/London", "--begins", "2026-11-25 07:00").returncode, 0)
        done = run("schedule", empty, "--format", "csv")
        check("an empty ward plans to nothing", (done.returncode, done.stdout.count("\n"), done.stderr), (0, 1, ""))
        bare = pathlib.Path(folder) / "bare"
        bare.mkdir()
        check("an empty folder is taken", run("new", bare, "--timezone", "Europe/London").returncode, 0)
        check("no such zone", run("new", pathlib.Path(folder) / "z", "--timezone", "Mars/Olympus").returncode, 2)


def ward_rules():
    """A ward's own rules: which row holds for whom, and which are looser than those built in (by eye, row by row)."""
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("larkfield", folder)
        (plan / "rules.csv").write_text("rule,applies,value,severity,source\n"
                                        "potassium-rate-max,child,0.3 mmol/kg/h,,a\n"      # looser than 0.2
                                        "potassium-rate-max,adult,8 mmol/h,,b\n"           # tighter than 10
                                        "urine-min,child,0.4 mL/kg/h,,c\n"                 # looser: less is let pass
                                        "weight-band,infant,2 to 20 kg,,d\n"               # looser at one end: 1.5 to 16
                                        "hang-time,nacl-0.9,12 h,,e\n"                     # tighter than 24 h; blood is no nacl-0.9
                                        "bolus,adult,7 mL/kg,,f\n"                         # not to be compared with 500 mL
                                        "site-check,,120 min,,g\n"                         # looser than 1 h
                                        "verify,,off,,h\n")
        looser = {r["source"]: r["looser_than"] for r in rows("rules", plan, "--looser")}
        check("looser rows", looser, {"a": "0.2 mmol/kg/h", "c": "0.5 mL/kg/h", "d": "1.5 to 16 kg", "f": "500 mL", "g": "1 h", "h": "on"})
        held = {(r["rule"], r["for"]): (r["value"], r["row"]) for r in rows("rules", plan, "--patient", "bay3-bed1")}
        check("a child of 12", held["potassium-rate-max", "the patient"], ("0.3 mmol/kg/h", "rules.csv:2"))
        check("its sodium chloride 0.9 %", held["hang-time", "all orders"], ("12 h", "rules.csv:6"))
        held = {(r["rule"], r["for"]): (r["value"], r["row"]) for r in rows("rules", plan, "--patient", "bay1-bed4")}
        check("an adult's red cells", [v for (rule, who), v in held.items() if rule == "hang-time" and "red" in who or who == "cells" and rule == "hang-time"],
              [("4 h", "built in")])
        (plan / "rules.csv").write_text("rule,applies,value,severity,source\nhang-time,blood,4 h,WATCH,x\n")
        check("no row makes a CLARIFY weaker", "[severity-lowered]" in run("check", plan, "--at", "2026-11-25 07:00").stderr, True)


def without_libical():
    """A machine whose libical cannot be loaded, or is something else: everything but reminders works, and they say what they lack."""
    other = re.search(r"/\S+/lib(?:z|m|expat)\b\S*\.so\S*", pathlib.Path("/proc/self/maps").read_text()).group()
    for what, content, complaint in (("cut short", b"", "file too short"), ("another library", pathlib.Path(other).read_bytes(), "undefined symbol: ical")):
        with tempfile.TemporaryDirectory() as folder:
            for number in range(1, 10):
                (pathlib.Path(folder) / f"libical.so.{number}").write_bytes(content)
            env = dict(os.environ, LD_LIBRARY_PATH=folder)
            out = pathlib.Path(folder) / "out.ics"
            for more in ((), ("--output", out)):
                done = run("remind", "plans/larkfield", "--at", "2026-11-25 19:00", "--quiet", *more, env=env)
                check(f"libical {what}", (done.returncode, done.stdout, out.exists()), (4, "", False))
                said = done.stderr.splitlines()
                check(f"libical {what}, said", (len(said), said[0][:31], complaint in said[0], "libical;" in said[1]), (2, "daydrip: no calendar was made: ", True, True))
            check(f"report, libical {what}", run("report", "plans/larkfield", "--at", "2026-11-25 19:00", env=env).stdout, run("report", "plans/larkfield", "--at", "2026-11-25 19:00").stdout)
            check(f"rate, libical {what}", run("rate", "--volume", "500mL", "--over", "8h", env=env).returncode, 0)


def calm_ward():
    """An ordinary ward, charted as it should be, has nothing to clarify and at most two things to watch: alarms that mean nothing are a harm."""
    for clock in ("07:00", "08:00", "09:45", "10:30", "11:30", "12:10", "13:00"):
        done = run("check", "plans/calm", "--at", f"2026-03-10 {clock}", "--format", "csv")
        found = [r["severity"] for r in csv.DictReader(io.StringIO(done.stdout))]
        check(f"calm at {clock}", (done.returncode, found.count("CLARIFY"), found.count("WATCH") <= 2), (0, 0, True))


def stopped():
    """Interrupted while it writes: nothing half in place, no temporary left."""
    with tempfile.TemporaryDirectory() as folder:
        plan = copy("larkfield", folder)
        out = pathlib.Path(folder) / "out.txt"
        for _ in range(20):
            child = subprocess.Popen([BINARY, "report", plan, "--at", "2026-11-25 19:00", "--output", out], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            child.send_signal(signal.SIGTERM)
            child.wait()
        left = [p.name for p in pathlib.Path(folder).iterdir() if p.name not in ("larkfield", "out.txt")]
        check("no temporary left", left, [])
        if out.exists():
            check("whole or not at all", out.read_text().rstrip().endswith("END OF REPORT"), True)


for part in (hand_worked, charted_day, side_by_side, impossible_entries, before_the_plan, moved_and_replaced, looked_at_after_a_move, clock_nights, half_hour_back, one_slip, files_and_limits, long_chain,
             moments, new_folders, ward_rules, calm_ward, without_libical, stopped):
    part()
print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0)
