#!/usr/bin/python3
"""Scanned codes, read by the command and by two parsers that are not ours: run.py BINARY FOLDER [--seed S].

Every identifier of src/value/gs1_ai.def stands in a code of its own and in random ones, with data as its row says; each parser has to
find the same identifiers with the same data. FOLDER keeps the npm packages between runs.
"""
import csv
import io
import json
import pathlib
import random
import re
import subprocess
import sys

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SEPARATOR = "\x1d"
# Those that begin so have a length that is laid down, and need no separator (General Specifications, figure 7.8.5-2).
PREDEFINED = ("00", "01", "02", "03", "04", "11", "12", "13", "14", "15", "16", "17", "18", "19", "20", "31", "32", "33", "34", "35", "36", "41")
NAMES = {"gtin": "01", "lot": "10", "produced": "11", "packed": "13", "best-before": "15", "sell-by": "16", "expires": "17", "serial": "21", "count": "30"}
X = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-./_"
# Identifiers that a parser does not know, or reads at the end of a code alone (8008), with one date of two (7007), or up to 14 characters
# of 20 (8002): no second opinion is asked of it there. What both leave out would be told.
WITHOUT = {"bark-js": r"03|395\d|43\d\d|71[56]|8002|8008", "gs1-barcode-parser-mod": r"425|7007|811[12]"}


def identifiers():
    """{identifier: (format, what it holds)}."""
    found = {}
    for head, last, form, holds in re.findall(r'^GS1_AI\("(\d+)", +(-?\d), "([^"]+)", (\w+)', (ROOT / "src/value/gs1_ai.def").read_text(), re.M):
        for ai in [head] if last == "-1" else [head + str(i) for i in range(int(last) + 1)]:
            found[ai] = (form, holds)
    return found


def check_digit(digits):
    total = sum(int(d) * (3 if i % 2 == 0 else 1) for i, d in enumerate(reversed(digits)))
    return str(-total % 10)


def data_of(rng, form, holds, full=False):
    """Data of a format, `N13+X..17`, and what kind of data they are; full: as long as they may be."""
    form = re.sub(r"\[(\+[^]]*)\]", r"\1" if (full or rng.random() < 0.5) and holds != "MADE" else "", form)
    text = ""
    for n, part in enumerate(form.split("+")):
        kind, up_to, most = re.fullmatch(r"([NXY])(\.\.)?(\d+)", part).groups()
        length = rng.randint(1, int(most)) if up_to and not full else int(most)
        letters = {"N": "0123456789", "X": X, "Y": "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-/"}[kind]
        piece = "".join(rng.choice(letters) for _ in range(length))
        if n == 0 and holds == "CHECK" and kind == "N":
            piece = piece[:-1] + check_digit(piece[:-1])
        if (n == 0 and holds in ("DATE", "DAY", "EXPIRY", "MADE")) or form.startswith("N6+N6"):
            day = rng.randint(1, 28)
            piece = f"{rng.randint(20, 49)}{rng.randint(1, 12):02d}{day:02d}" + f"{rng.randint(0, 23):02d}{rng.randint(0, 59):02d}"[:length - 6]
        text += piece
    if holds == "MADE": # an hour, then perhaps minutes, then perhaps seconds
        text += rng.choice(["", "30", "0459"])
    return text


def code_of(parts):
    text = ""
    for i, (ai, data) in enumerate(parts):
        text += ai + data + (SEPARATOR if i + 1 < len(parts) and not ai.startswith(PREDEFINED) else "")
    return text


def ours(binary, code):
    """What the command says is in the code, [(identifier, data, date)]; or why not."""
    done = subprocess.run([binary, "bag", "bay1-bed2", "main", code, "--plan", "plans/larkfield", "--at", "2026-11-25 08:00", "--format", "csv"], cwd=ROOT,
                          capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        return f"exit {done.returncode}: {done.stderr}"
    found = []
    for row in csv.DictReader(io.StringIO(done.stdout)):
        if row["quantity"] == "ordered-bag":
            break
        name, value = row["quantity"], row["value"][1:] if re.match(r"'[=+@-]", row["value"]) else row["value"]
        date = value if row["unit"] == "date" else None
        ai = {"time": "7003", "mL": "volume"}.get(row["unit"]) or NAMES.get(name) or name.removeprefix("ai-")
        found.append((ai, value, date))
    return found


def agrees(said, other, parts):
    """Whether both found the parts. Dates and volumes are said as such; then it is the date or volume that agrees."""
    if other is None or len(said) != len(parts) or len(other) != len(parts):
        return False
    for (ai, value, date), (their_ai, raw, their_date), (true_ai, data) in zip(said, other, parts):
        if their_ai != true_ai or (raw != data and not their_date):
            return False
        if date:
            good = ai == true_ai and date == (their_date or f"20{raw[:2]}-{raw[2:4]}-{raw[4:6]}")
        elif ai == "volume": # 315n litres, 316n cubic metres, n decimals; said in mL to the third
            good = true_ai[:3] in ("315", "316") and abs(float(value) - int(raw) / 10**int(true_ai[3]) * (1000 if true_ai[2] == "5" else 10**6)) < 0.001
        elif ai == "7003":
            good = true_ai == ai and re.sub(r"\D", "", value)[2:12] == data
        else:
            good = ai == true_ai and value == data
        if not good:
            return False
    return True


def make(rng):
    """Codes as lists of parts: each identifier alone behind a trade item number, then random ones."""
    known = identifiers()
    item = ("01", "0952123400001" + check_digit("0952123400001"))
    made = []
    for ai, (form, holds) in known.items():
        for full in [True] if ".." not in form else [True, False]:
            part = (ai, data_of(rng, form, holds, full))
            made.append([part] if ai in ("00", "01", "02", "03", "37") else [item, part, ("10", "L7")] if ai not in ("10",) else [item, part])
    usual = ["10", "11", "13", "15", "17", "21", "22", "30", "240", "3102", "3152", "3163", "400", "410", "421", "7003", "8005", "91", "99"]
    for _ in range(60):
        chosen = rng.sample(usual, rng.randint(1, 5))
        if "3152" in chosen and "3163" in chosen: # one volume
            chosen.remove("3163")
        made.append([item, *((ai, data_of(rng, *known[ai])) for ai in chosen if not (ai == "7003" and "17" in chosen))])
    return [parts for parts in made if not any(a in ("3152", "3163") for a, _ in parts) or all(int(d) for a, d in parts if a[:2] == "31")]


def main():
    binary, modules = str(pathlib.Path(sys.argv[1]).resolve()), sys.argv[2]
    rng = random.Random(int(sys.argv[sys.argv.index("--seed") + 1]) if "--seed" in sys.argv else 1)
    subprocess.run(["sh", str(HERE.parent / "calendar/install.sh"), modules, str(HERE)], check=True, stdout=subprocess.DEVNULL)
    made = make(rng)
    codes = [code_of(parts) for parts in made]
    done = subprocess.run(["node", str(HERE / "read.cjs"), modules], input=json.dumps(codes), capture_output=True, text=True, check=True,
                          env={"PATH": "/usr/local/bin:/usr/bin:/bin", "TZ": "UTC"})
    passed = failed = 0
    second = {}
    for parts, code, others in zip(made, codes, json.loads(done.stdout)):
        said = ours(binary, code)
        for name, other in others.items():
            if any(re.fullmatch(WITHOUT[name], ai) for ai, _ in parts):
                continue
            good = not isinstance(said, str) and agrees(said, other, parts)
            passed, failed = passed + good, failed + (not good)
            if good:
                for ai, _ in parts:
                    second.setdefault(ai, set()).add(name)
            else:
                print(f"{name}: {parts}\n  says {other}\n  ours {said}")
    for ai in identifiers():
        if ai not in second:
            failed += 1
            print(f"{ai}: no second opinion")
    print(f"{passed} passed, {failed} failed")
    return failed > 0


sys.exit(main())
