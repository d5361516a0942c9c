#!/usr/bin/python3
"""Reminders on their way to where people see them: server.py BINARY FOLDER.

khal     a calendar file is imported into an empty collection, and what khal lists then is what was meant
radicale each file of --split is put on a CalDAV server, and what it gives back has the same meaning for every parser
sync     vdirsyncer takes a folder of --split to the server; then the plan changes: a dose and an infusion move by an hour, a bag is no
         longer needed, another order comes; the folder is written again, and the server has what is in the plan now, under the same names

Everything lives in a temporary folder; the server listens on the loopback alone and is stopped at the end. FOLDER keeps the npm packages
between runs. Ends with `N passed, N failed`.
"""
import base64
import datetime as dt
import http.client
import os
import pathlib
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.parse
import xml.etree.ElementTree as ET

import parsers
from plans import Run, instant, seen, write_plan, write_table

UTC = dt.timezone.utc
WHO = "ward"
DAY = "2026-11-25"
MORNING, LATER, END = f"{DAY} 07:00", f"{DAY} 08:30", "2026-11-26 06:59"
PROPFIND = b'<?xml version="1.0"?><propfind xmlns="DAV:"><prop><getetag/></prop></propfind>'


class Server:
    """radicale on a free port of the loopback, with one user."""

    def __init__(self, folder):
        self.folder = folder
        self.process = None
        for _ in range(5):  # the port may be taken by somebody else before the server has it
            with socket.socket() as free:
                free.bind(("127.0.0.1", 0))
                self.port = free.getsockname()[1]
            if self.start():
                return
        raise SystemExit(f"radicale does not start:\n{(folder / 'log').read_text()[-2000:]}")

    def start(self):
        config = self.folder / "radicale"
        config.write_text(f"[server]\nhosts = 127.0.0.1:{self.port}\n[auth]\ntype = none\n[rights]\ntype = owner_only\n[web]\ntype = none\n"
                          f"[storage]\ntype = multifilesystem\nfilesystem_folder = {self.folder / 'store'}\n[logging]\nlevel = warning\n")
        with open(self.folder / "log", "wb") as log:
            self.process = subprocess.Popen([parsers.PYTHON, "-m", "radicale", "-C", str(config)], stdout=log, stderr=log, cwd=self.folder)
        for _ in range(600):
            if self.process.poll() is not None:
                return False
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
                return True
            except OSError:
                time.sleep(0.05)
        self.stop()
        return False

    def stop(self):
        self.process.terminate()
        try:
            self.process.wait(timeout=20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()

    def ask(self, method, path, body=None, **headers):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        headers["Authorization"] = "Basic " + base64.b64encode(f"{WHO}:{WHO}".encode()).decode()
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        data = answer.read()
        connection.close()
        return answer.status, data

    def url(self, collection):
        return f"http://127.0.0.1:{self.port}/{WHO}/{collection}/"

    def etags(self, collection):
        """{name of the file: its ETag}, as the server tells."""
        status, data = self.ask("PROPFIND", f"/{WHO}/{collection}/", PROPFIND, Depth="1")
        if status != 207:
            raise SystemExit(f"PROPFIND: {status} {data[:300]}")
        found = {}
        for response in ET.fromstring(data).iter("{DAV:}response"):
            name = urllib.parse.unquote(response.findtext("{DAV:}href")).rstrip("/").rpartition("/")[2]
            if name.endswith(".ics"):
                found[name] = response.findtext(".//{DAV:}getetag")
        return found

    def fetch(self, collection, folder):
        """All files of a collection, put into a folder."""
        folder.mkdir()
        for name in self.etags(collection):
            status, data = self.ask("GET", f"/{WHO}/{collection}/{name}")
            if status != 200:
                raise SystemExit(f"GET {name}: {status}")
            (folder / name).write_bytes(data)
        return sorted(folder.glob("*.ics"))


def read_folder(run, modules, *folders):
    """The events of each folder by UID; every file must hold one, and be named by it."""
    files = [sorted(folder.glob("*.ics")) for folder in folders]
    read = iter(parsers.read(run, modules, [f for some in files for f in some]))
    out = []
    for folder, some in zip(folders, files, strict=True):
        out.append({})
        for f in some:
            events = next(read)
            run.that(list(events) == [f.stem], f"{folder.name}/{f.name} holds {list(events)}")
            out[-1].update(events)
    return out


# ---- the ward: each bed is there for one thing ----

ORDERS = "patient,order,fluid,line,runs,rate,volume,over,bag,hanging,hung,start,stop,times,flush"


def orders(changed):
    glucose = "glucose-5-nacl-0.45"
    rows = [
        # a dose, in whose time the line is taken later on
        ["dose-bed", "drug", "metronidazole 500 mg in nacl-0.9", "arm", "piggyback", "200 mL/h", "100 mL", "", "", "", "", "", "", "14:00 22:00", "20 mL"],
        ["dose-bed", "main", glucose, "arm", "", "80 mL/h", "", "", "1 L", "950 mL", "2026-11-25 06:00", "", "", "", ""],
        # an infusion that begins an hour later
        ["move-bed", "pack", "nacl-0.9", "arm", "", "100 mL/h", "500 mL", "", "", "", "", f"{DAY} {'13:00' if changed else '12:00'}", "", "", ""],
        # 500 mL at 100 mL/h from 07:00: bag 2 at 12:00, bag 3 at 17:00, unless the order is stopped at 15:00
        ["drop-bed", "main", glucose, "arm", "", "100 mL/h", "", "", "500 mL", "500 mL", "2026-11-25 06:30", "", f"{DAY} 15:00" if changed else f"{DAY} 20:00", "", ""],
        # nothing changes here
        ["same-bed", "main", glucose, "arm", "", "125 mL/h", "", "", "500 mL", "375 mL", "2026-11-25 06:00", "", "", "", ""],
        ["new-bed", "main", glucose, "arm", "", "50 mL/h", "", "", "1 L", "900 mL", "2026-11-25 06:00", "", "", "", ""],
    ]
    if changed:  # 100 mL at 100 mL/h from 16:00
        rows.append(["new-bed", "extra", "nacl-0.9", "arm-2", "", "100 mL/h", "100 mL", "", "", "", "", f"{DAY} 16:00", "", "", ""])
    return rows


def write_ward(folder, changed):
    beds = ["dose-bed", "move-bed", "drop-bed", "same-bed", "new-bed"]
    write_plan(folder, "Etc/UTC", MORNING, {
        "patients": ["patient,age,weight,allergies,team", *([b, "50 years", "70 kg", "none", "B" if b == "same-bed" else "A"] for b in beds)],
        "lines": ["patient,line,kind,site,gauge", *([b, "arm", "peripheral", "arm", "20 G"] for b in beds), ["new-bed", "arm-2", "peripheral", "hand", "20 G"]],
        "orders": [ORDERS, *orders(changed)],
    })
    if changed:  # the line is not there for the dose from an hour before it is due to an hour after
        write_table(folder, "pauses", ["patient,line,from,to,why", ["dose-bed", "arm", f"{DAY} 12:00", f"{DAY} 15:00", "scan"]])


def split(run, ward, folder, at):
    run.output("remind", ward, "--at", at, "--from", at, "--to", END, "--split", folder)


def titled(events, title):
    return [uid for uid, e in events.items() if e["summary"] == title]


# ---- khal ----

KHAL = """[calendars]
[[ward]]
path = {0}/collection
[locale]
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
local_timezone = UTC
default_timezone = UTC
[sqlite]
path = {0}/cache
"""


def tool(run, folder, *words):
    """One of the tools, with nothing of whoever runs the test: its settings and what it keeps are in the folder."""
    home = {"HOME": str(folder), "XDG_CONFIG_HOME": str(folder), "XDG_DATA_HOME": str(folder), "XDG_CACHE_HOME": str(folder), "LC_ALL": "C.UTF-8"}
    done = subprocess.run(words, env={"PATH": os.environ["PATH"], **home}, capture_output=True, text=True, timeout=120, check=False)
    run.that(done.returncode == 0, f"{words[0]}: exit {done.returncode}: {(done.stdout + done.stderr)[-1500:]}")
    return done.stdout


def check_khal(run, modules, folder):
    (folder / "collection").mkdir(parents=True)
    (folder / "config").write_text(KHAL.format(folder))
    ics = run.calendar(folder / "larkfield.ics", "plans/larkfield", "--at", f"{DAY} 19:00", "--shift", "night", "--detail")
    khal = ["khal", "-c", str(folder / "config")]
    tool(run, folder, *khal, "import", "--batch", "-a", "ward", str(ics))
    listed = tool(run, folder, *khal, "list", "--day-format", "", "--format", "{uid}|{start-long-full}|{end-long-full}|{title}|{description}\x1e", DAY, "3d")
    got = sorted(tuple(x.strip("\n").split("|", 4)) for x in listed.split("\x1e") if x.strip())
    [events] = parsers.read(run, modules, [ics])

    def clock(seconds):
        return dt.datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M")
    # it shows no seconds
    meant = sorted((e["uid"], clock(e["start"]), clock(e["end"]), e["summary"], e["description"]) for e in events.values())
    run.that(len(meant) > 40 and len(got) == len(meant), f"khal lists {len(got)} of {len(meant)} events")
    for a, b in zip(got, meant):
        run.that(a == b, f"khal lists {a}, not {b}")


# ---- a server ----

def check_put(run, modules, server, folder):
    """Each file put on the server and got from it."""
    folder.mkdir()
    here = folder / "split"
    run.output("remind", "plans/larkfield", "--at", f"{DAY} 19:00", "--shift", "night", "--team", "C", "--detail", "--split", here)
    run.that(server.ask("MKCALENDAR", f"/{WHO}/put/")[0] == 201, "MKCALENDAR")
    for f in sorted(here.glob("*.ics")):
        status, said = server.ask("PUT", f"/{WHO}/put/{f.name}", f.read_bytes(), Content_Type="text/calendar; charset=utf-8", If_None_Match="*")
        run.that(status == 201, f"PUT {f.name}: {status} {said[:200]}")
    server.fetch("put", folder / "got")
    mine, theirs = read_folder(run, modules, here, folder / "got")
    run.that(len(mine) > 20 and mine.keys() == theirs.keys(), f"{len(theirs)} of {len(mine)} events on the server")
    for uid in mine.keys() & theirs.keys():
        run.that(mine[uid] == theirs[uid], f"on the server {theirs[uid]}, not {mine[uid]}")


VDIRSYNCER = """[general]
status_path = "{0}/status"
[pair ward]
a = "folder"
b = "server"
collections = null
conflict_resolution = "a wins"
[storage folder]
type = "filesystem"
path = "{1}"
fileext = ".ics"
[storage server]
type = "caldav"
url = "{2}"
username = "{3}"
password = "{3}"
"""


class Sync:
    """A folder of --split, and a collection of the server that vdirsyncer keeps the same."""

    def __init__(self, run, server, folder, collection):
        self.run, self.server, self.folder, self.collection = run, server, folder, collection
        self.here = folder / "split"
        folder.mkdir()
        (folder / "config").write_text(VDIRSYNCER.format(folder, self.here, server.url(collection), WHO))
        run.that(server.ask("MKCALENDAR", f"/{WHO}/{collection}/")[0] == 201, "MKCALENDAR")
        self.words = ["vdirsyncer", "-c", str(folder / "config")]
        self.fetched = 0

    def discover(self):
        tool(self.run, self.folder, *self.words, "discover")

    def go(self):
        tool(self.run, self.folder, *self.words, "sync")

    def fetch(self):
        self.fetched += 1
        there = self.folder / f"got-{self.fetched}"
        self.server.fetch(self.collection, there)
        return there


def put_off(run, server, collection, name):
    """What a calendar program does to an event whose alarm was put off: it writes it anew, with properties of its own."""
    path = f"/{WHO}/{collection}/{name}"
    text = server.ask("GET", path)[1].decode()
    own = "X-MOZ-LASTACK:20261125T075000Z\r\nX-MOZ-SNOOZE-TIME:20261125T082000Z\r\n"
    status, said = server.ask("PUT", path, text.replace("SUMMARY:", own + "SUMMARY:", 1).encode(), Content_Type="text/calendar; charset=utf-8")
    run.that("BEGIN:VALARM" in text and status == 201, f"PUT {name}: {status} {said[:200]}")


def check_names(run, old, new):
    """What moves keeps its name; what is no longer needed is gone; what is new is there."""
    for before, after in (("dose-bed: dose 14:00", "dose-bed: dose 15:00"), ("move-bed: start 12:00", "move-bed: start 13:00"),
                          ("move-bed: ends 17:00", "move-bed: ends 18:00"), ("drop-bed: stop 20:00", "drop-bed: stop 15:00")):
        [uid] = titled(old, before) or [None]
        moved = int(after[-5:-3]) - int(before[-5:-3])
        if run.that(uid in new and titled(new, after) == [uid], f"{before} is not {after} now, under its name"):
            run.that(new[uid]["start"] - old[uid]["start"] == 3600 * moved, f"{after} stands at {new[uid]['start']}")
            run.that(new[uid]["sequence"] == old[uid]["sequence"] + 1, f"{after}: SEQUENCE {new[uid]['sequence']}")
    [gone] = titled(old, "drop-bed: hang 17:00")
    run.that(gone not in new, "a bag that is not needed any more is still there")
    [came] = titled(new, "new-bed: start 16:00")
    run.that(came not in old and new[came]["sequence"] == 0, "what is new has an old name, or a number")


def check_numbers(run, old, new, at):
    """SEQUENCE goes up by one, and LAST-MODIFIED to now, where something that is seen has changed, and nowhere else."""
    same = 0
    for uid in old.keys() & new.keys():
        changed = seen(old[uid]) != seen(new[uid])
        meant = (old[uid]["sequence"] + 1, at, at) if changed else tuple(old[uid][k] for k in ("sequence", "modified", "stamp"))
        same += not changed
        is_now = tuple(new[uid][k] for k in ("sequence", "modified", "stamp"))
        run.that(is_now == meant, f"{new[uid]['summary']}: SEQUENCE, LAST-MODIFIED and DTSTAMP {is_now}, not {meant}")
    run.that(same > 25, f"only {same} reminders are as they were")


def check_sync(run, modules, server, folder):
    sync = Sync(run, server, folder, "sync")
    ward = folder / "ward"
    write_ward(ward, changed=False)
    split(run, ward, sync.here, MORNING)
    sync.discover()
    sync.go()
    first, etags = sync.fetch(), server.etags("sync")
    [old] = read_folder(run, modules, first)

    [snoozed] = titled(old, "new-bed: hang 01:00")
    put_off(run, server, "sync", f"{snoozed}.ics")
    sync.go()
    write_ward(ward, changed=True)
    split(run, ward, sync.here, LATER)
    sync.go()
    second, etags_now = sync.fetch(), server.etags("sync")
    plain = folder / "plain"
    plain.mkdir()
    split(run, ward, plain, LATER)  # what a folder holds that was empty before
    new, there, afresh = read_folder(run, modules, second, sync.here, plain)

    run.that(new == there, "the server has something else than the folder")
    run.that({u: seen(e) for u, e in new.items()} == {u: seen(e) for u, e in afresh.items()}, "the server has something else than the plan")
    check_names(run, old, new)
    snoozed_now = new.pop(snoozed, None)
    run.that(snoozed_now and snoozed_now["sequence"] == 1 and "X-MOZ" not in (sync.here / f"{snoozed}.ics").read_text(), f"put off: {snoozed_now}")
    check_numbers(run, old, new, instant(UTC, LATER))
    for uid, event in old.items():
        if uid in new and event["summary"].startswith("same-bed: "):
            run.that(etags_now[f"{uid}.ics"] == etags[f"{uid}.ics"], f"{event['summary']}: written again on the server")
    sync.go()
    run.that(server.etags("sync") == etags_now, "a sync with nothing to do has done something")


def main():
    run = Run(sys.argv[1])
    modules = sys.argv[2]
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # so that the server is stopped then too
    parsers.install(modules)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        check_khal(run, modules, folder / "khal")
        server = Server(folder)
        try:
            check_put(run, modules, server, folder / "put")
            check_sync(run, modules, server, folder / "sync")
        finally:
            server.stop()
    return run.report()


if __name__ == "__main__":
    sys.exit(main())
