#!/usr/bin/python3
"""What `report --sentences` says is what the pages show: run.py BINARY.

The pages are read as text. Every number with its unit and every clock of a page must be said in the same part of the sentences; every figure of the
tables on the back (hours, needs, bags) must be said with its row and its column. And the sentences are sentences: no columns, no
boxes, no dots to write on, one a line. Ends with `N passed, N failed`.
"""
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
BINARY = str(pathlib.Path(sys.argv[1]).resolve())
EVENING = {"larkfield": "2026-11-25 19:00", "calm": "2026-03-10 13:00"}
UNIT = r"(?:mL|mmol|mg|mcg|g|kg|units|drops|mOsm|%|h|min|s|d|days?|months|years|weeks)"
FIGURE = re.compile(rf"(?<![\w.,:])([+-]?\d[\d,]*(?:\.\d+)?\??) ({UNIT}(?:/\w+)*)(?![\w/])")
CLOCK = re.compile(r"(?<!\d)\d\d:\d\d(?!\d)")
NUMBER = re.compile(r"[+-]?[\d,]*\d(?:\.\d+)?\??")
SAID = {"IN": "in", "OUT": "out", "SUM": "sum of in less out so far"}
LEGEND = re.compile(r"   (?:[=\-#~Bvx] [a-z ]+?  )*(?:each )?15 min$")  # of the picture of flows, which is not said but told
passed = failed = 0


def hold(true, what):
    global passed, failed
    if true:
        passed += 1
    else:
        failed += 1
        if failed < 40:
            print(what)


def command(*words):
    done = subprocess.run([BINARY, *words], cwd=ROOT, capture_output=True, text=True, check=False)
    hold(done.returncode == 0, f"{' '.join(words)}: exit {done.returncode}: {done.stderr}")
    return done.stdout


def parts_of_pages(text):
    """The lines of each part, by its subject and title; pages that go on are one part."""
    parts = {}
    for page in text.split("\f"):
        lines = page.splitlines()
        head = re.match(r"(?:DEMO, NOT FOR CARE +)?(\S.*?)  +(\S.*?)(?: \(continued\))?(?:  .*)?$", lines[0])
        parts.setdefault((head[1], head[2]), []).extend(lines)
    return parts


def parts_of_sentences(text):
    parts = {}
    for part in re.split(r"(?<=\n)\n(?=DEMO, NOT FOR CARE|[^\n]*\n[^\n]*\n[^\n]*page \d+ of)", text):
        lines = part.splitlines()
        at = 1 if lines[0].startswith("DEMO") else 0
        subject, title = lines[at].rstrip(".").split(", ", 1)
        hold((subject, title) not in parts, f"{subject}, {title} comes twice")
        parts[subject, title] = lines
    return parts


def columns_of(line):
    """Heads of a table, each with where its figures may stand."""
    tokens = [(m[0], m.start(), m.end()) for m in re.finditer(r"\S+(?: \S+)*", line.replace("|", " "))]
    columns, left = [], tokens[0][2]
    for name, _, right in tokens[1:]:
        columns.append((name, left, right))
        left = right
    return columns


def check_hours(where, lines, said):
    head = next((i for i, line in enumerate(lines) if re.match(r"hour .*SUM$", line)), None)
    if head is None:
        return 0
    tokens = [(m[0], m.start(), m.end()) for m in re.finditer(r"\S+", lines[head].replace("|", " "))]
    cells, ends = 0, [right for _, _, right in tokens]
    for row in lines[head + 1:]:
        if not row or row.startswith((" ", "-")):
            break
        label = re.split(r"  +", row)[0]
        subject = f"hour {label}" if re.fullmatch(r"\d\d(:\d\d)?", label) else label
        for m in re.finditer(r"\S+", row.replace("|", " ")):
            if m.start() < max(ends[0], len(label)) or not NUMBER.fullmatch(m[0]):
                continue
            name = next((name for (name, _, right), left in zip(tokens[1:], ends) if left < m.end() and m.start() <= right), None)
            sentence = f"{subject}: {SAID.get(name, name)} {m[0]} mL."
            cells += 1
            hold(sentence in said, f"{where}: nobody says {sentence!r}")
    return cells


def check_bags(where, lines, said):
    head = next((i for i, line in enumerate(lines) if line.startswith("BAGS ADD UP")), None)
    for row in lines[head + 1:] if head is not None else []:
        if row.startswith((" ", "-", "END")):
            return
        cells = re.split(r"  +", row)
        for number in cells[1:]:
            hold(any(s.startswith(f"{cells[0]}: ") and s.endswith(f" {number} mL.") for s in said), f"{where}: nobody says {number} of {cells[0]!r}")


def check_plan(plan, at, words):
    pages = parts_of_pages(command("report", f"plans/{plan}", "--at", at, *words))
    sentences = parts_of_sentences(command("report", f"plans/{plan}", "--at", at, "--sentences", *words))
    hold(list(pages) == list(sentences), f"{plan}: parts {list(pages)}, said {list(sentences)}")
    cells = 0
    for key, lines in pages.items():
        where = f"{plan}, {' '.join(key)}"
        said = sentences.get(key, [])
        text = "\n".join(said)
        figures = set(FIGURE.findall(text))
        clocks = set(CLOCK.findall(text))
        for line in lines:
            if LEGEND.match(line):
                continue
            for figure in FIGURE.findall(line):
                hold(figure in figures, f"{where}: nobody says {' '.join(figure)}: {line!r}")
            for clock in CLOCK.findall(line):
                hold(clock in clocks, f"{where}: nobody says {clock}: {line!r}")
        cells += check_hours(where, lines, set(said))
        check_bags(where, lines, said)
        for sentence in said:
            if sentence.startswith("daydrip chart "):  # to be typed as it is
                hold(sentence[-1] != ".", f"{where}: not to be typed: {sentence!r}")
                continue
            hold(not sentence or sentence[-1] in ".:!?" or sentence.startswith("END OF"), f"{where}: no sentence: {sentence!r}")
            hold(not re.search(r"  |\.\.|[|]|--|\[ \]|^\W", sentence) or sentence[:1] in "?", f"{where}: not for the ear: {sentence!r}")
    return cells


def main():
    cells = 0
    for folder in sorted(path.parent for path in ROOT.glob("plans/*/ward.csv")):
        ward = (folder / "ward.csv").read_text()
        at = EVENING.get(folder.name) or re.search(r"^begins,(.*)$", ward, re.M)[1]
        cells += check_plan(folder.name, at, [])
    hold(cells > 3000, f"only {cells} figures of hours were found on the pages")
    for words in (["--next", "4h"], ["--brief"], ["--working"]):
        check_plan("larkfield", EVENING["larkfield"], words)
    print(f"{passed} passed, {failed} failed")
    return failed > 0


sys.exit(main())
