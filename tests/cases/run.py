"""Runs the cases: one small file per kind of message, with the bytes of the tables and the whole of what is said about them.

    run.py BINARY [CASE ...]      runs all cases, or those named
    run.py BINARY --write CASE .. writes what the binary says into the cases, to be read before it is kept

A case is a text file. Lines before the first section say what it shows. A section begins with a line `== `:

    == orders.csv             the table, instead of the usual one
    == orders.csv escaped     the same, with \\xNN for bytes that are no text and \\n for a line end inside a line
    == orders.csv absent      the folder has no such table
    == expect                 standard error, whole
    == status 3               the exit status, where it is not 3

Tables that a case does not name are the usual ones, below. Every code of message.def must have a case whose expected text
holds it, or stand in UNREACHED with the reason.
"""
import os
import re
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))

USUAL = {
    "ward.csv": b"setting,value\n"
                b"ward,Larkfield\n"
                b"timezone,America/New_York\n"
                b"begins,2026-11-25 07:00\n",
    "patients.csv": b"patient,bed,age,weight,allergies\n"
                    b"p1,bay1-bed1,7 years,20 kg,none\n"
                    b"p2,bay1-bed2,60 years,70 kg,none\n",
    "lines.csv": b"patient,line,kind\n"
                 b"p1,left-arm,peripheral\n"
                 b"p1,tube,enteral\n"
                 b"p2,left-arm,peripheral\n",
    "orders.csv": b"patient,order,fluid,line,rate,volume\n"
                  b"p1,main,nacl-0.9,left-arm,60 mL/h,500 mL\n"
                  b"p2,main,nacl-0.9,left-arm,80 mL/h,1 L\n",
}

# Codes that no folder can bring about here, with the reason.
UNREACHED = {
    "table-unreadable": "the tests may run as a user to whom every file can be opened",
    "table-large": "needs a file of more than 512 MiB",
    "too-many-rows": "needs more than 1,000 rows; unit test of the loader",
}


def sections(path):
    """The sections of a case: name, argument, bytes."""
    found, name = [], None
    with open(path, "rb") as f:
        for line in f.read().splitlines(keepends=True):
            if line.startswith(b"== "):
                words = line[3:].decode().split()
                name = (words[0], " ".join(words[1:]))
                found.append([name[0], name[1], b""])
            elif name:
                found[-1][2] += line
    return found


def unescape(data):
    data = data.replace(b"\n", b"")
    return re.sub(rb"\\(x[0-9a-fA-F]{2}|n|t|r|\\)",
                  lambda m: {b"n": b"\n", b"t": b"\t", b"r": b"\r", b"\\": b"\\"}.get(m.group(1))
                  or bytes([int(m.group(1)[1:], 16)]), data)


def run(binary, path):
    """Exit status and standard error for the folder of a case; expected status and text."""
    tables, expect, status = dict(USUAL), None, 3
    for name, argument, data in sections(path):
        if name == "expect":
            expect = data
        elif name == "status":
            status = int(argument)
        elif argument == "absent":
            tables.pop(name, None)
        else:
            tables[name] = unescape(data) if argument == "escaped" else data
    with tempfile.TemporaryDirectory() as folder:
        for name, data in tables.items():
            with open(os.path.join(folder, name), "wb") as f:
                f.write(data)
        done = subprocess.run([binary, "schedule", folder, "--format", "csv"], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                              timeout=120, check=False)
    return done.returncode, done.stderr, status, expect


def write(path, text):
    with open(path, "rb") as f:
        head = f.read().split(b"== expect\n")[0]
    with open(path, "wb") as f:
        f.write(head + b"== expect\n" + text)


def main():
    binary, names = sys.argv[1], sys.argv[2:]
    writing = names[:1] == ["--write"]
    wanted = [os.path.basename(n) for n in names[writing:]]
    passed = failed = 0
    seen = set()
    for name in sorted(os.listdir(HERE)):
        if not name.endswith(".case") or (wanted and name not in wanted):
            continue
        path = os.path.join(HERE, name)
        status, text, want_status, want = run(binary, path)
        if writing:
            write(path, text)
            want = text
        seen.update(re.findall(r"\[([a-z0-9-]+)\]$", (want or b"").decode("utf-8", "replace"), re.M))
        if want is None or status != want_status or text != want:
            failed += 1
            print(f"FAILED {name}: exit status {status}, expected {want_status}")
            sys.stdout.flush()
            sys.stdout.buffer.write(b"--- expected\n" + (want or b"") + b"--- got\n" + text)
            sys.stdout.buffer.flush()
        else:
            passed += 1
    if not wanted:
        with open(os.path.join(ROOT, "src", "message", "message.def"), encoding="utf-8") as f:
            codes = re.findall(r'^MESSAGE\(\w+, "([a-z0-9-]+)"', f.read(), re.M)
        for code in codes:
            if code not in seen and code not in UNREACHED:
                failed += 1
                print(f"FAILED {code}: no case shows it")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
