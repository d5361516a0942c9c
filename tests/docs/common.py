"""What the parts of this test share: where things are, and counting."""
import os
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[2]


class Run:
    def __init__(self, binary, build):
        self.binary, self.build = binary, build
        self.passed = self.failed = 0
        cache = (build / "CMakeCache.txt").read_text()
        self.sanitized = "DAYDRIP_SANITIZE:BOOL=ON" in cache
        self.compiler = next(line.split("=", 1)[1] for line in cache.splitlines() if line.startswith("CMAKE_C_COMPILER:"))

    def hold(self, name, fine, why=""):
        """One check. `why` is said where it does not hold."""
        if fine:
            self.passed += 1
        else:
            self.failed += 1
            print(f"{name}: {why}"[:800] if why else name)
        return fine

    def same(self, name, here, there, what_here, what_there):
        """Two sets of names that must be the same."""
        here, there = set(here), set(there)
        only_here, only_there = sorted(here - there), sorted(there - here)
        why = "; ".join(f"only in {what}: {', '.join(names)}" for what, names in ((what_here, only_here), (what_there, only_there)) if names)
        return self.hold(name, not why and here, why or "nothing found")

    def command(self, *words, cwd=ROOT):
        """What the command prints, both ways, and its exit status."""
        done = subprocess.run([self.binary, *words], cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=clean())
        return done.stdout.decode(), done.returncode


def clean(**more):
    """An environment that no setting of the machine reaches into."""
    kept = {name: value for name, value in os.environ.items() if name in ("PATH", "HOME", "TMPDIR", "ASAN_OPTIONS")}
    return {**kept, "LC_ALL": "C", **more}
