#!/usr/bin/python3
"""What it costs, measured: run.py BINARY READ_CSV WRITE_CALENDAR [PATIENTS]. Prints; judges nothing.

Time and memory of the command on wards of rising size, each against what plain libcsv takes to read the same bytes back, in the same run;
the time of the day with 38 doses on one line (plans/busy); and what those wait for who ask once: `rate`, and `chart` and `report` of a ward
of 30. Least of several runs: by the clock (s), and of the processor, user and system (cpu), for a machine that has other things to do. At the
end each figure beside its goal.
"""
import datetime
import os
import pathlib
import resource
import statistics
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, str(pathlib.Path(__file__).parent))
import make_ward  # noqa: E402

ROOT = pathlib.Path(__file__).resolve().parents[2]


def measured(words, output):
    with open(output, "wb") as out:
        start = time.perf_counter()
        child = subprocess.Popen(words, stdout=out)
        _, status, usage = os.wait4(child.pid, 0)
        spent = time.perf_counter() - start
    if status:
        raise SystemExit(f"{words}: exit {status}")
    return spent, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def least(runs):
    """The least of each figure by itself."""
    return tuple(map(min, zip(*runs)))


def answers(binary, folder):
    """The processor's time, user and system, of one answer: the machine may have other things to do. Beside it what a program takes
    that does nothing."""
    yesterday = (datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(days=1)).date().isoformat()
    ward = os.path.join(folder, "30")
    make_ward.make(ward, 30, yesterday)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    found = {}
    print(f"{'user and system, ms':32} {'least':>6} {'median':>7} {'runs':>5}")
    for name, words in (("a program that does nothing", ["/bin/true"]),
                        ("rate", [binary, "rate", "--volume", "500mL", "--over", "8h"]),
                        ("chart, 30 patients", [binary, "chart", "--plan", ward, "bay0-bed4", "main", "rate", "80 mL/h", "--at", f"{yesterday} 20:00"]),
                        ("report, 30 patients", [binary, "report", ward, "--at", f"{yesterday} 19:00"])):
        spent = []
        for _ in range(40):
            child = os.posix_spawn(words[0], words, os.environ, file_actions=[(os.POSIX_SPAWN_DUP2, nowhere, 1)])
            _, status, usage = os.wait4(child, 0)
            if status:
                raise SystemExit(f"{words}: exit {status}")
            spent.append((usage.ru_utime + usage.ru_stime) * 1000)
        print(f"{name:32} {min(spent):6.1f} {statistics.median(spent):7.1f} {len(spent):5}")
        found[name] = min(spent)
    return found


def reminders(binary, calendar, folder):
    """The calendar alone, written and read back as it grows; and the command on a ward whose reminders are about as many. Processor's time:
    the disk is another matter."""
    path = os.path.join(folder, "many.ics")
    count, write, read, size, memory = min((subprocess.run([calendar, "100000", path], capture_output=True, text=True, check=True).stdout.split() for _ in range(3)),
                                           key=lambda row: float(row[1]))
    print(f"calendar of {count} events, {size} MiB: {write} s written, {read} s read back, {float(count) / (float(write) + float(read)):.0f} events/s, {memory} MiB of memory")
    ward = os.path.join(folder, "remind")
    make_ward.make(ward, 2000)
    child = subprocess.Popen([binary, "remind", ward, "--at", "2026-11-25 07:00", "--from", "2026-11-25 07:00", "--each", "--quiet", "--output", path])
    _, status, usage = os.wait4(child.pid, 0)
    if status:
        raise SystemExit(f"remind: exit {status}")
    events = pathlib.Path(path).read_bytes().count(b"BEGIN:VEVENT")
    print(f"remind --each, 2000 patients, {events} events: {usage.ru_utime + usage.ru_stime:.2f} s, {usage.ru_maxrss / 1024:.0f} MiB")


def read_back(reader, paths):
    """Seconds that libcsv takes, by the clock and of the processor."""
    return tuple(map(sum, zip(*(least([float(word) for word in subprocess.run([reader, p], capture_output=True, text=True, check=True).stdout.split()[:2]]
                                      for _ in range(5)) for p in paths))))


def on_wards(binary, reader, folder, counts):
    """Rows of the table; what was measured by patients, verb and jobs: by the clock, processor, MiB, both ratios, MiB of the tables."""
    found, out = {}, os.path.join(folder, "out.csv")
    print(f"{'patients':>9} {'orders':>8} {'verb':16} {'jobs':>4} {'s':>7} {'cpu':>7} {'MiB':>6} {'in MiB':>7} {'out MiB':>8} {'libcsv s':>9} {'ratio':>6} {'by cpu':>6}")
    for count in counts:
        plan = os.path.join(folder, str(count))
        orders = make_ward.make(plan, count)
        size = sum(f.stat().st_size for f in pathlib.Path(plan).iterdir()) / 2**20
        tables = read_back(reader, map(str, pathlib.Path(plan).iterdir()))
        for verb in (["schedule"], ["totals", "--by", "day"]):
            for jobs in ("1", "2"):
                spent, worked, memory = least(measured([binary, *verb, plan, "--format", "csv", "--jobs", jobs], out) for _ in range(3 if count > 50000 else 5))
                back = read_back(reader, [out]) if verb[0] == "schedule" else tables
                found[count, verb[0], jobs] = (spent, worked, memory, spent / back[0], worked / back[1], size)
                print(f"{count:9} {orders:8} {' '.join(verb):16} {jobs:>4} {spent:7.3f} {worked:7.3f} {memory:6.0f} {size:7.1f}"
                      f" {os.path.getsize(out) / 2**20:8.1f} {back[0]:9.3f} {spent / back[0]:6.2f} {worked / back[1]:6.2f}")
    print("(ratio: of schedule to reading its output back with libcsv; of totals to reading the tables with libcsv)")
    return found


def main():
    binary, reader, calendar = sys.argv[1:4]
    middle = int(sys.argv[4]) if len(sys.argv) > 4 else 20000
    few, many = middle // 20, middle * 5
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "out.csv")
        found = on_wards(binary, reader, folder, (few, middle, many))
        busy, _, _ = least(measured([binary, "schedule", str(ROOT / "plans/busy"), "--format", "csv"], out) for _ in range(3))
        reminders(binary, calendar, folder)
        once = answers(binary, folder)
        one, two, totals = found[middle, "schedule", "1"], found[middle, "schedule", "2"], found[middle, "totals", "1"]
        straight = found[many, "schedule", "1"][1] / many / (found[few, "schedule", "1"][1] / few)
        print(f"machine: {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}")
        print(f"{'figure':62} {'reached':>9} {'goal':>9}")
        for what, reached, goal in (
                (f"schedule of {middle:,} against reading its rows, one job, by cpu", f"{one[4]:.2f}", "1.0"),
                ("the same, two jobs, by the clock", f"{two[3]:.2f}", "below 1"),
                (f"totals by day of {middle:,} against reading the tables, by cpu", f"{totals[4]:.1f}", "5"),
                ("peak memory, MiB; goal: twice the tables and 16", f"{one[2]:.0f}", f"{2 * one[5] + 16:.0f}"),
                (f"time for a patient, {many:,} against {few:,}, by cpu", f"{straight:.2f}", "1.10"),
                ("rate, ms of the processor", f"{once['rate']:.1f}", "5"),
                ("report of 30 patients, ms of the processor", f"{once['report, 30 patients']:.1f}", "30"),
                ("schedule of plans/busy, 38 doses on one line, ms", f"{busy * 1000:.0f}", "")):
            print(f"{what:62} {reached:>9} {goal:>9}")


main()
