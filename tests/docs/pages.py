"""The manual against what the program itself says, both ways."""
import json
import re
import shutil
import subprocess

from common import ROOT

PAGES = ("daydrip.1", "daydrip-plan.5", "daydrip-messages.7", "daydrip-ward.7", "daydrip-hospital.7")
ESCAPES = {r"\-": "-", r"\&": "", r"\(dq": '"', r"\(aq": "'", r"\(ga": "`", r"\(ha": "^", r"\(ti": "~", r"\e": "\\", r"\:": ""}


def plain(line):
    """A line of mdoc with its escapes undone."""
    return re.sub(r"\\(\(..|.)", lambda m: ESCAPES.get(m.group(0), m.group(0)), line)


def read_page(run, page):
    return [plain(line) for line in (run.build / "man" / page).read_text().splitlines()]


def files_of(run, page):
    """The files that a page shows: literal blocks behind `.\\" file NAME`. {NAME: text}."""
    lines = (run.build / "man" / page).read_text().splitlines()
    found = {}
    for i, line in enumerate(lines):
        if line.startswith('.\\" file '):
            begin = i + 2  # behind the .Bd
            found[line[9:]] = "".join(plain(row) + "\n" for row in lines[begin:lines.index(".Ed", begin)])
    return found


def parts(lines, macro):
    """The lines behind each `.MACRO NAME`, up to the next one or a section: {NAME: lines}."""
    found, name = {}, None
    for line in lines:
        if line.startswith(macro + " "):
            name = line[len(macro) + 1:]
            found[name] = []
        elif line.startswith(".Sh "):
            name = None
        elif name is not None:
            found[name].append(line)
    return found


def section(lines, name):
    return parts(lines, ".Sh").get(name, [])


def in_help(text):
    """Options of a verb's --help: {name: argument}."""
    return {m.group(1): m.group(2) or "" for m in re.finditer(r"^  --([a-z-]+)(?: (\S+))?  ", text, re.M)}


def check_command(run):
    lines = read_page(run, "daydrip.1")
    text, status = run.command("--help")
    verbs = re.findall(r"^  ([a-z]+)(?: \S+)*?  +\S", text, re.M)
    run.hold("--help", status == 0 and len(verbs) == len(set(verbs)), f"exit {status}")
    told = {item.split()[0]: body for item, body in parts(section(lines, "VERBS"), ".It Cm").items()}
    run.same("verbs", verbs, told, "--help", "daydrip.1")
    run.same("synopsis", verbs, [line[4:] for line in section(lines, "SYNOPSIS") if line.startswith(".Cm ")], "--help", "the synopsis")
    every = set()
    for verb in verbs:
        text, status = run.command(verb, "--help")
        options = in_help(text)
        every.update(f"--{n} {a}" for n, a in options.items())
        behind = told.get(verb, [])
        behind = behind[behind.index("Options:") + 1:] if "Options:" in behind else []
        named = [m.group(1) for m in (re.match(r"\.Fl -([a-z-]+) [,.]$", line) for line in behind) if m]
        own = set(options) - {"help", "version"}
        run.hold(f"{verb} --help", status == 0 and set(named) == own, f"exit {status}; {sorted(set(named) ^ own)} differ from daydrip.1")
    items = [item.split() for item in parts(section(lines, "OPTIONS"), ".It Fl")]
    run.same("options", every, [f"-{words[0]} {words[2] if len(words) > 2 else ''}" for words in items], "--help", "daydrip.1")
    rows = {verb: next((line[4:] for line in body if line.startswith(".Dl ")), "") for verb, body in
            parts(section(lines, "OUTPUT AS ROWS"), ".Ss").items()}
    now = ["plans/steps", "--at", "2026-11-25 07:00"]
    for verb, words in (("schedule", ["plans/steps"]), ("maintenance", ["plans/steps"]), ("totals", ["plans/steps"]), ("due", now), ("gather", now),
                        ("compare", ["plans/steps/orders.csv", *now])):
        text, status = run.command(verb, *words, "--format", "csv")
        head = text.split("\n", 1)[0]
        run.hold(f"{verb} --format csv", status == 0 and rows.get(verb) == head, f"daydrip.1 says {rows.get(verb)}, it gives {head}")


def codes(path, macro):
    return re.findall(rf'^{macro}\(\w+, *"([a-z0-9-]+)"', (ROOT / path).read_text(), re.M)


def words_of(lines):
    return " ".join(" ".join(line for line in lines if not line.startswith(".")).split())


def check_messages(run):
    lines = read_page(run, "daydrip-messages.7")
    listed = codes("src/message/message.def", "MESSAGE")
    found = codes("include/daydrip/finding.def", "FINDING")
    told = {}
    for name in [line[4:] for line in lines if line.startswith(".Sh ")]:
        if name.startswith("MESSAGES ABOUT") or name == "FINDINGS":
            told.update(parts(section(lines, name), ".Ss"))
    run.same("codes", listed + found, told, "the lists", "daydrip-messages.7")
    for code in listed + found:
        text, status = run.command("explain", code)
        run.hold(f"explain {code}", status == 0 and text.startswith(code), f"exit {status}: {text}")
        said = words_of(told.get(code, []))
        if code in listed:
            meaning = " ".join(text.split("\n\n", 1)[-1].split())
            run.hold(f"the section {code}", len(meaning) > 20 and meaning in said, f"it does not say what explain says: {meaning}")
        else:
            run.hold(f"the section {code}", len(said) > 80, "it does not say what to do")
    run.hold("explain of no code", run.command("explain", "no-such-code")[1] == 2)


def check_plan(run):
    lines = read_page(run, "daydrip-plan.5")
    text, status = run.command("schema")
    schema = json.loads(text) if status == 0 else {"resources": []}
    tables = parts(section(lines, "THE TABLES"), ".Ss")
    run.same("tables", [r["name"] + ".csv" for r in schema["resources"]], tables, "schema", "daydrip-plan.5")
    for resource in schema["resources"]:
        fields = [(f["name"], bool(f.get("constraints", {}).get("required"))) for f in resource["schema"]["fields"]]
        items = [line[7:] for line in tables.get(resource["name"] + ".csv", []) if line.startswith(".It Va ")]
        told = [(item.split()[0], item.endswith("(needed)")) for item in items]
        run.hold(f"columns of {resource['name']}", told == fields, f"schema {fields}, daydrip-plan.5 {told}")


def check_rules(run):
    """The manual says of which rules nothing is made yet; the program's text says which it looks up."""
    lines = read_page(run, "daydrip-plan.5")
    told = []
    for line in lines[lines.index('.\\" rules not in use') + 1:]:
        if line.startswith(".Cm "):
            told.append(line.split()[1])
        else:
            break
    used = set()
    for path in (ROOT / "src").glob("*/*.c"):
        used.update(re.findall(r"DD_RULE_([A-Z_]+)", path.read_text()))
    names = dict(re.findall(r'^RULE_NAME\((\w+), +"([a-z0-9-]+)"', (ROOT / "include/daydrip/rule.def").read_text(), re.M))
    run.same("rules not in use", [names[n] for n in set(names) - used], told, "the program", "daydrip-plan.5")


def check_form(run):
    """Two readers of mdoc that know nothing of each other have nothing to say about the pages, not even about their style."""
    readers = {"mandoc": ["-Tlint"], "groff": ["-mdoc", "-ww", "-z", "-Tascii"]}
    for page in PAGES:
        text = (run.build / "man" / page).read_text()
        run.hold(f"{page} is ASCII", text.isascii())
        for name, words in readers.items():
            if run.hold(f"{name} is there", shutil.which(name), "tests/run installs it"):
                done = subprocess.run([name, *words, page], cwd=run.build / "man", capture_output=True, text=True)
                run.hold(f"{name} {page}", done.returncode == 0 and not done.stdout + done.stderr, done.stdout + done.stderr)


def check(run):
    check_command(run)
    check_messages(run)
    check_plan(run)
    check_rules(run)
    check_form(run)
