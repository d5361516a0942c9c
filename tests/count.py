"""Counts what holds: `count.that(good, message)`; the first that do not are told."""
import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[1]


class Count:
    def __init__(self, binary):
        self.binary = str(pathlib.Path(binary).resolve())
        self.passed = self.failed = 0

    def that(self, good, message):
        if good:
            self.passed += 1
        else:
            self.failed += 1
            if self.failed < 40:
                print("FAILED:", message)

    def same(self, what, got, expected):
        self.that(got == expected, f"{what}: {got!r}, expected {expected!r}")

    def call(self, *words):
        return subprocess.run([self.binary, *map(str, words)], cwd=ROOT, capture_output=True, text=True)

    def run(self, *words, status=0):
        done = self.call(*words)
        self.that(done.returncode == status, f"{' '.join(map(str, words))}: exit {done.returncode}, not {status}: {done.stderr[:400]}")
        return done.stdout

    def report(self):
        print(f"{self.passed} passed, {self.failed} failed")
        return self.failed > 0
