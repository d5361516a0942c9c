"""Runs the examples. In README.md a block `console` has commands behind `$ ` and what they print, in which a line `...` stands for any
lines; a block `csv FILE` is written to that file first; a block `sh` names programs of the repository that are not run here. In
the manual a literal block behind `.\\" file NAME` is written to that file, and lines `.Dl $ ...` are run, from the first block on whose
name has no folder in that block's folder."""
import os
import pathlib
import re
import shutil
import subprocess
import tempfile

from common import ROOT, clean
from pages import PAGES, files_of, read_page


class Place:
    """A fresh folder with the plans in it, where `daydrip` is the command under test."""

    def __init__(self, run, folder):
        self.folder = pathlib.Path(folder)
        self.status = 0
        (self.folder / "bin").mkdir()
        (self.folder / "bin" / "daydrip").symlink_to(run.binary)
        self.work = self.folder / "work"
        (self.work / "plans").mkdir(parents=True)
        for plan in sorted(p for p in (ROOT / "plans").iterdir() if p.is_dir()):
            shutil.copytree(plan, self.work / "plans" / plan.name)

    def sh(self, command, cwd=None):
        path = f"{self.folder / 'bin'}{os.pathsep}{os.environ['PATH']}"
        done = subprocess.run(["sh", "-c", f"(exit {self.status}); {command}"], cwd=cwd or self.work, stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, env=clean(PATH=path, HOME=str(self.folder)))
        self.status = done.returncode
        return done.stdout.decode()


def runs_of(lines):
    """Lines split at `...`."""
    runs = [[]]
    for line in lines:
        if line == "...":
            runs.append([])
        else:
            runs[-1].append(line)
    return runs


def match(shown, given):
    """None where the lines are as shown; otherwise what is wrong. Each run of lines between two `...` is looked for behind the one before."""
    runs, at = runs_of(shown), 0
    for i, run in enumerate(runs):
        starts = range(at, len(given) - len(run) + 1)
        if i == 0:
            starts = starts[:1]
        elif i == len(runs) - 1 and run:
            starts = starts[-1:]
        start = next((s for s in starts if given[s:s + len(run)] == run), None)
        if start is None:
            near = next((f", but {given[s + k]!r}" for s in starts if given[s] == run[0] for k in range(len(run)) if given[s + k] != run[k]), "")
            return f"these lines do not come: {run}{near}"
        at = start + len(run)
    if len(runs) == 1 and at < len(given):
        return f"more comes: {given[at]!r}"
    return None


def blocks(text):
    """Fenced blocks: (words behind the fence, lines, number of the line)."""
    found, inside = [], None
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith("```"):
            if inside:
                found.append(inside)
                inside = None
            else:
                inside = (line[3:].split(), [], number)
        elif inside:
            inside[1].append(line.rstrip())
    return found


def run_console(run, place, lines, name):
    commands = []
    for line in lines:
        if line.startswith("$ "):
            commands.append((line[2:], []))
        elif commands:
            commands[-1][1].append(line)
    run.hold(name, commands, "no command")
    for i, (command, shown) in enumerate(commands):
        given = [line.rstrip() for line in place.sh(command).splitlines()]
        asked = i + 1 < len(commands) and commands[i + 1][0] == "echo $?"
        fine = (0, 1) if re.match(r"daydrip (check|bag) ", command) else (0,)  # 1: there is something to clarify
        run.hold(f"{name}: {command}", asked or place.status in fine, f"exit {place.status}: " + "\n".join(given[:8]))
        why = match(shown, given)
        run.hold(f"{name}: output of {command}", why is None, why)


def check_readme(run):
    text = (ROOT / "README.md").read_text()
    run.hold("README.md is ASCII", text.isascii())
    with tempfile.TemporaryDirectory() as folder:
        place = Place(run, folder)
        for words, lines, number in blocks(text):
            name = f"README.md:{number}"
            if words[:1] == ["console"]:
                run_console(run, place, lines, name)
            elif words[:1] == ["csv"] and len(words) == 2:
                (place.work / words[1]).write_text("\n".join(lines) + "\n")
            elif words[:1] == ["sh"]:
                for line in lines:
                    program = line.split()[0]
                    run.hold(f"{name}: {line}", program in ("cmake", "cpack") or os.access(ROOT / program, os.X_OK), "no program of the repository")
            else:
                run.hold(name, words[:1] == ["text"], f"a block of no kind: {words}")


def check_page(run, page):
    source = read_page(run, page)
    with tempfile.TemporaryDirectory() as folder:
        place = Place(run, folder)
        files = files_of(run, page)
        cwd = place.work
        for line in source:
            if line.startswith('.\\" file '):
                name = line[9:]
                if "/" not in name:
                    cwd = place.work / "own"
                    name = f"own/{name}"
                path = place.work / name
                path.parent.mkdir(exist_ok=True)
                path.write_text(files[line[9:]])
            elif line.startswith(".Dl $ "):
                command = line[6:]
                given = place.sh(command, cwd)
                silent = not command.startswith("daydrip ") or re.search(r"--output|[>|]", command)
                run.hold(f"{page}: {command}", place.status == 0 and (silent or given.strip()), f"exit {place.status}: {given[:600]}")


def check(run):
    check_readme(run)
    for page in PAGES:
        check_page(run, page)
