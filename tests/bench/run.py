#!/usr/bin/python3
"""What it costs, measured: run.py BINARY READ_CSV WRITE_CALENDAR [PATIENTS]. Prints; judges nothing.

Time and memory of the command on wards of rising size, each against what plain libcsv takes to read the same bytes back; the time of
the day with 38 doses on one line (plans/busy); and what those wait for who ask once: `rate`, and `chart` and `report` of a ward of 30.
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
    return spent, usage.ru_maxrss / 1024


def answers(binary, folder):
    """The processor's time, user and system, of one answer: the machine may have other things to do. Beside it what a program takes
    that does nothing."""
    yesterday = (datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(days=1)).date().isoformat()
    ward = os.path.join(folder, "30")
    make_ward.make(ward, 30, yesterday)
    nowhere = os.open(os.devnull, os.O_WRONLY)
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


def read_back(reader, path):
    return min(float(subprocess.run([reader, path], capture_output=True, text=True, check=True).stdout.split()[0]) for _ in range(3))


def main():
    binary, reader, calendar = sys.argv[1:4]
    most = int(sys.argv[4]) if len(sys.argv) > 4 else 20000
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as folder:
        out = os.path.join(folder, "out.csv")
        print(f"{'patients':>9} {'orders':>8} {'verb':22} {'jobs':>4} {'s':>7} {'us/order':>9} {'MiB':>6} {'in MiB':>7} {'out MiB':>8} {'libcsv s':>9} {'ratio':>6}")
        for count in (most // 20, most // 4, most):
            plan = os.path.join(folder, str(count))
            orders = make_ward.make(plan, count)
            size = sum(f.stat().st_size for f in pathlib.Path(plan).iterdir()) / 2**20
            tables = sum(read_back(reader, str(f)) for f in pathlib.Path(plan).iterdir())
            for verb in (["schedule"], ["totals", "--by", "day"]):
                for jobs in ("1", "2"):
                    spent, memory = min(measured([binary, *verb, plan, "--format", "csv", "--jobs", jobs], out) for _ in range(3))
                    back = read_back(reader, out) if verb[0] == "schedule" else tables
                    print(f"{count:9} {orders:8} {' '.join(verb):22} {jobs:>4} {spent:7.3f} {spent / orders * 1e6:9.2f} {memory:6.0f} {size:7.1f}"
                          f" {os.path.getsize(out) / 2**20:8.1f} {back:9.3f} {spent / back:6.2f}")
        print("(ratio: of schedule to reading its output back with libcsv; of totals to reading the tables with libcsv)")
        spent, _ = min(measured([binary, "schedule", str(ROOT / "plans/busy"), "--format", "csv"], out) for _ in range(3))
        print(f"plans/busy, 38 doses on one line: {spent * 1000:.0f} ms")
        spent, _ = min(measured([binary, "report", str(ROOT / "plans/larkfield"), "--at", "2026-11-25 19:00"], out) for _ in range(3))
        print(f"plans/larkfield, report: {spent * 1000:.0f} ms")
        reminders(binary, calendar, folder)
        answers(binary, folder)


main()
