"""Calendar files as parsers that are not ours read them: all of them at once, held against each other."""
import json
import pathlib
import subprocess

HERE = pathlib.Path(__file__).resolve().parent
PYTHON = "/usr/bin/python3"


def programs(modules):
    return {
        "icalendar": [PYTHON, str(HERE / "dump_icalendar.py")],
        "vobject": [PYTHON, str(HERE / "dump_vobject.py")],
        "ical.js": ["node", str(HERE / "dump_icaljs.mjs"), str(modules)],
        "node-ical": ["node", str(HERE / "dump_nodeical.mjs"), str(modules)],
    }


def install(modules):
    subprocess.run(["sh", str(HERE / "install.sh"), str(modules)], check=True, stdout=subprocess.DEVNULL)


def read(count, modules, files, only=None):
    """The events of each file by UID, as all parsers agree; where they do not, that is counted as failed and the first one's are given.
    `only`: as this one reads them, where the files are too many for all."""
    files = [str(f) for f in files]
    running = {name: subprocess.Popen([*words, *files], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
               for name, words in programs(modules).items() if only in (None, name)}
    read_by = {}
    for name, process in running.items():
        out, err = process.communicate(timeout=120)
        count.that(process.returncode == 0, f"{name}: {err.decode()[-1500:]}")
        if process.returncode == 0:
            read_by[name] = json.loads(out)
    first, *others = read_by or [None]
    for other in others:
        for path, mine, theirs in zip(files, read_by[first], read_by[other], strict=True):
            compare(count, pathlib.Path(path).name, first, mine, other, theirs)
    return [{e["uid"]: e for e in events} for events in read_by.get(first, [[] for _ in files])]


def compare(count, path, first, mine, other, theirs):
    count.that(len(mine) == len(theirs), f"{path}: {len(mine)} events for {first}, {len(theirs)} for {other}")
    mine, theirs = ({e["uid"]: e for e in events} for events in (mine, theirs))
    count.that(mine.keys() == theirs.keys(), f"{path}: {first} and {other} read other events: {sorted(mine.keys() ^ theirs.keys())[:3]}")
    for uid in mine.keys() & theirs.keys():
        wrong = [(k, v, theirs[uid].get(k)) for k, v in mine[uid].items() if theirs[uid].get(k) != v]
        count.that(not wrong, f"{path} {uid}: {first} and {other} differ: {wrong[:1]}")
