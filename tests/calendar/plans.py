"""What the calendar tests share: the command run, and plans read and written."""
import csv
import datetime as dt
import io
import pathlib
import subprocess
from zoneinfo import ZoneInfo

ROOT = pathlib.Path(__file__).resolve().parents[2]
PLAN_ID = "0c9b6d2e-58f1-4c1a-9d0e-6f3f1a2b7c55"


def instant(zone, text):
    return int(dt.datetime.fromisoformat(text).replace(tzinfo=zone).timestamp())


class Run:
    """The command, and what passed and failed."""

    def __init__(self, binary):
        self.binary = str(pathlib.Path(binary).resolve())
        self.passed = self.failed = 0
        self.zone = dt.timezone.utc

    def that(self, good, message):
        if good:
            self.passed += 1
        else:
            self.failed += 1
            if self.failed < 40:
                print("FAILED:", message)
        return bool(good)

    def output(self, *words):
        done = subprocess.run([self.binary, *map(str, words)], cwd=ROOT, capture_output=True, timeout=120, check=False)
        if done.returncode:
            raise SystemExit(f"{words}: exit {done.returncode}\n{done.stderr.decode()[:2000]}")
        return done.stdout

    def rows(self, *words):
        return list(csv.DictReader(io.StringIO(self.output(*words, "--format", "csv").decode())))

    @staticmethod
    def table(folder, name):
        with open(ROOT / folder / f"{name}.csv", encoding="utf-8", newline="") as f:
            return list(csv.DictReader(f))

    def use(self, plan):
        """The zone of a plan of plans/ from here on."""
        self.zone = ZoneInfo(next(r["value"] for r in self.table(f"plans/{plan}", "ward") if r["setting"] == "timezone"))

    def end(self):
        print(f"{self.passed} passed, {self.failed} failed")
        return self.failed > 0


def write_table(folder, name, rows):
    """`rows`: the names of the columns with commas between, then lists of cells."""
    with open(folder / f"{name}.csv", "w", encoding="utf-8", newline="") as f:
        f.write(rows[0] + "\n")
        csv.writer(f, lineterminator="\n").writerows(rows[1:])


def write_plan(folder, zone, begins, tables):
    folder.mkdir(exist_ok=True)
    write_table(folder, "ward", ["setting,value", ["ward", "Test"], ["plan", PLAN_ID], ["timezone", zone], ["begins", begins]])
    for name, rows in tables.items():
        write_table(folder, name, rows)
