#!/usr/bin/python3
"""Makes the .deb as somebody who hands it on would, and looks at it: run.py BUILD-FOLDER.

again         made once more with SOURCE_DATE_EPOCH as before, it is the same to the byte
contents      every file, its owner and mode; the check sums; pages packed without a time; copyright and change log
dependencies  the packages that the system's own database names for the libraries the program asks for, loaded late or not
demo          unpacked into a folder, the program makes the demo ward and prints what reports/ has of it
lintian       finds neither errors nor warnings

tests/package/fresh installs it on a Debian that has nothing; it needs root, debootstrap and the network, so no test runs it.
Ends with `N passed, N failed`.
"""
import gzip
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
PAGES = ("man1/daydrip.1", "man5/daydrip-plan.5", "man7/daydrip-messages.7", "man7/daydrip-ward.7", "man7/daydrip-hospital.7")
FILES = {  # every file, and its mode
    "usr/bin/daydrip": 0o755,
    "usr/share/doc/daydrip/changelog.gz": 0o644,
    "usr/share/doc/daydrip/copyright": 0o644,
    "usr/share/bash-completion/completions/daydrip": 0o644,
    "usr/share/fish/vendor_completions.d/daydrip.fish": 0o644,
    "usr/share/zsh/vendor-completions/_daydrip": 0o644,
    **{f"usr/share/man/{page}.gz": 0o644 for page in PAGES},
}
DEMO = {  # what reports/ has of the demo ward, and how it is asked for
    "larkfield.report.txt": ["report", "--at", "2026-11-25 19:00"],
    "larkfield.reminders.ics": ["remind", "--at", "2026-11-25 19:00"],
    "larkfield.hours.csv": ["totals", "--by", "hour", "--format", "csv", "--at", "2026-11-25 19:00"],
}
passed = failed = 0


def hold(name, fine, why=""):
    global passed, failed
    if fine:
        passed += 1
    else:
        failed += 1
        print(f"{name}: {why}"[:2000])
    return fine


def tell(*words, **more):
    return subprocess.run([str(w) for w in words], capture_output=True, text=True, **more)


def make(build, folder):
    done = tell("cpack", "-G", "DEB", "-B", folder, cwd=build, env={**os.environ, "SOURCE_DATE_EPOCH": "1764028800"})
    made = list(folder.glob("*.deb"))
    if not hold("cpack makes one package", done.returncode == 0 and len(made) == 1, f"{made}\n{done.stdout}{done.stderr}"):
        return None
    version = re.search(r"^project\(daydrip VERSION (\S+)", (ROOT / "CMakeLists.txt").read_text(), re.M).group(1)
    machine = tell("dpkg", "--print-architecture").stdout.strip()
    hold("its name", made[0].name == f"daydrip_{version}_{machine}.deb", made[0].name)
    return made[0]


def look_at_contents(deb, tree, control):
    listing = tell("dpkg-deb", "-c", deb).stdout.splitlines()
    owners = {line.split()[1] for line in listing}
    hold("everything belongs to root", owners == {"root/root"}, owners)
    shown = {line.split()[5].removeprefix("./") for line in listing if not line.startswith("d")}
    hold("its files", shown == set(FILES), sorted(shown ^ set(FILES)))
    for path in sorted(p for p in tree.rglob("*") if not p.is_symlink()):
        name = str(path.relative_to(tree))
        mode = path.stat().st_mode & 0o7777
        hold(f"mode of {name}", mode == (0o755 if path.is_dir() else FILES.get(name)), oct(mode))
    sums = dict(reversed(line.split(None, 1)) for line in (control / "md5sums").read_text().splitlines())
    real = {str(p.relative_to(tree)): hashlib.md5(p.read_bytes()).hexdigest() for p in tree.rglob("*") if p.is_file()}
    hold("md5sums", sums == real, sorted(set(sums.items()) ^ set(real.items())))


def look_at_texts(build, tree):
    share = tree / "usr/share"
    for page in PAGES:
        packed = (share / "man" / f"{page}.gz").read_bytes()
        hold(f"{page} is the built one", gzip.decompress(packed) == (build / "man" / page.split("/")[1]).read_bytes(), "it is not")
        hold(f"{page} has no time inside", packed[4:8] == bytes(4), packed[:10])
    licence = (ROOT / "LICENSE").read_text().split("\n\n", 2)
    said = [line.strip() for line in (share / "doc/daydrip/copyright").read_text().splitlines()]
    wanted = [line for line in licence[2].splitlines() if line]
    hold("the copyright file has the whole licence", [line for line in said if line in wanted] == wanted, said)
    hold("and who holds it", f"Copyright: {licence[1].removeprefix('Copyright (c) ')}" in said, said[:6])
    changes = gzip.decompress((share / "doc/daydrip/changelog.gz").read_bytes())
    parsed = tell("dpkg-parsechangelog", "-l", "-", "-S", "Version", input=changes.decode())
    version = re.search(r"VERSION (\S+)", (ROOT / "CMakeLists.txt").read_text().split("project(", 1)[1]).group(1)
    hold("the change log is about this version", parsed.stdout.strip() == version, parsed.stdout + parsed.stderr)


def owner_of(path):
    """The package that a file belongs to; the system knows some files by their place before /usr was merged."""
    for name in (path, path.removeprefix("/usr"), os.path.realpath(path), os.path.realpath(path).removeprefix("/usr")):
        done = tell("dpkg-query", "-S", name)
        if done.returncode == 0:
            return done.stdout.split(":")[0]
    return f"nobody's {path}"


def look_at_dependencies(deb, tree):
    program = tree / "usr/bin/daydrip"
    asked = set(re.findall(r"\(NEEDED\).*\[(\S+)\]", tell("readelf", "-d", program).stdout))
    late = {m.decode() for m in re.findall(rb"lib[a-z]+\.so\.[0-9]+", program.read_bytes())} - asked
    hold("one library is loaded late", len(late) == 1 and "libical" in min(late), late)
    place = f"/usr/lib/{tell('dpkg-architecture', '-q', 'DEB_HOST_MULTIARCH').stdout.strip()}"
    wanted = {owner_of(f"{place}/{name}") for name in asked | late} | {"tzdata"}
    said = tell("dpkg-deb", "-f", deb, "Depends").stdout
    names = {part.split()[0] for part in said.split(",")}
    hold("dependencies", names == wanted, f"{said.strip()}; the libraries belong to {sorted(wanted)}")
    hold("the C library's least version", re.search(r"libc6 \(>= [0-9.]+\)", said), said)


def run_demo(tree, folder):
    own = {"PATH": f"{tree / 'usr/bin'}:/usr/bin:/bin", "LC_ALL": "C", "HOME": str(folder)}
    for name in ("report", "remind"):
        done = tell("daydrip", name, "--help", env=own, cwd=folder)
        hold(f"{name} --help", done.returncode == 0 and done.stdout, done.stderr)
    done = tell("daydrip", "new", "--demo", "ward", env=own, cwd=folder)
    if not hold("new --demo", done.returncode == 0, done.stderr):
        return
    for name, words in DEMO.items():
        done = subprocess.run(["daydrip", words[0], "ward", *words[1:]], env=own, cwd=folder, capture_output=True)
        golden = (ROOT / "reports" / name).read_bytes().split(b"== messages")[0]
        hold(f"{words[0]} of the demo ward", done.returncode == 0 and done.stdout == golden, f"not that of reports/{name}: {done.stderr.decode()}")


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    build = pathlib.Path(sys.argv[1]).resolve()
    missing = [name for name in ("cpack", "dpkg-deb", "dpkg-shlibdeps", "dpkg-parsechangelog", "file", "readelf", "lintian") if not shutil.which(name)]
    if missing:
        sys.exit(f"not there: {', '.join(missing)}; tests/run installs them")
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        deb = make(build, folder / "made")
        if deb:
            again = make(build, folder / "again")
            hold("it is the same each time", again and again.read_bytes() == deb.read_bytes(), "two runs give two packages")
            tree, control = folder / "tree", folder / "control"
            tell("dpkg-deb", "-x", deb, tree)
            tell("dpkg-deb", "-e", deb, control)
            look_at_contents(deb, tree, control)
            look_at_texts(build, tree)
            look_at_dependencies(deb, tree)
            run_demo(tree, folder)
            done = tell("lintian", "--fail-on", "error,warning", "--tag-display-limit", "0", "--allow-root", deb)
            hold("lintian", done.returncode == 0, done.stdout + done.stderr)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
