"""The layers, tried with the include paths that each is really built with: headers of layers that it may use are within reach, those of
layers that it may not use are not, and an include that reaches up does not compile."""
import json
import re
import shlex
import subprocess

from common import ROOT

SEES = {  # each layer, and what it may include besides itself
    "base": (), "value": ("base",), "message": ("base", "value"), "edge": ("base", "value", "message"), "engine": ("base", "value", "message"),
    "table": ("base", "value", "message", "edge"), "plan": ("base", "value", "message", "edge", "table"),
    "write": ("base", "value", "message", "edge", "engine", "table", "plan"),
}
LAYERS = (*SEES, "cli")
OUTSIDE = {"glib": ("edge", "cli"), "csv": ("table",), "ical": ("write",)}  # who may use what comes from outside


def paths_of(run):
    """The include paths and definitions each layer is built with: {layer: flags}."""
    found = {}
    for entry in json.loads((run.build / "compile_commands.json").read_text()):
        m = re.search(r"/src/(\w+)/\w+\.c$", entry["file"])
        if m and m.group(1) in SEES:
            words, flags = shlex.split(entry["command"]), []
            for i, word in enumerate(words):
                if word in ("-I", "-isystem"):
                    flags += [word, words[i + 1]]
                elif word.startswith(("-I", "-isystem", "-D", "-std=")):
                    flags.append(word)
            found[m.group(1)] = flags
    return found


def compiles(run, flags, line):
    done = subprocess.run([run.compiler, "-fsyntax-only", "-x", "c", *flags, "-"], input=line + "\n", capture_output=True, text=True, cwd=run.build)
    return done.returncode == 0, done.stderr


def within_reach(run, flags, headers):
    """Those of the headers that can be included."""
    source = "".join(f'#if __has_include("{h}")\nreached {h}\n#endif\n' for h in headers)
    done = subprocess.run([run.compiler, "-E", "-P", "-x", "c", *flags, "-"], input=source, capture_output=True, text=True, cwd=run.build)
    return set(re.findall(r"^reached (\S+)$", done.stdout, re.M))


def check_includes(run, flags):
    headers = {layer: sorted(p.name for p in (ROOT / "src" / layer).glob("*.h")) for layer in LAYERS}
    for layer, sees in SEES.items():
        own = flags.get(layer, [])
        may = {h for low in (layer, *sees) for h in headers[low]}
        must_not = sorted({h for other in LAYERS for h in headers[other]} - may)
        run.same(f"src/{layer}: headers within reach", may, within_reach(run, own, may | set(must_not)), "the picture", "the build")
        for header in headers[layer]:
            did, errors = compiles(run, own, f'#include "{header}"')
            run.hold(f"src/{layer}/{header} compiles alone", did, errors)
        for header in must_not[:1] + must_not[-1:] + (["glib.h"] if layer not in ("edge", "write") else []):
            did, _ = compiles(run, own, f'#include "{header}"')
            run.hold(f"src/{layer}: {header}", not did, "compiles, and must not")
    run.hold("src/edge: glib.h", *compiles(run, flags.get("edge", []), '#include "glib.h"'))


def check_outside(run):
    """GLib, libcsv and libical stay where they belong; the system's own paths would let them in anywhere."""
    users = {name: set() for name in OUTSIDE}
    for layer in LAYERS:
        for path in sorted((ROOT / "src" / layer).glob("*.[ch]")):
            for header in re.findall(r"^\s*#\s*include\s*<([^>]+)>", path.read_text(), re.M):
                for name in OUTSIDE:
                    if re.match(rf"(lib)?{name}\b|{name}/|g{name}", header):
                        users[name].add(path.relative_to(ROOT / "src"))
    for name, paths in users.items():
        wrong = [str(p) for p in paths if p.parts[0] not in OUTSIDE[name]]
        run.hold(f"{name} is used where it may be", paths and not wrong, f"{wrong or 'nowhere'}")
    for name in ("csv", "ical"):
        run.hold(f"one file uses {name}", len(users[name]) == 1, f"{sorted(map(str, users[name]))}")


def check(run):
    flags = paths_of(run)
    run.same("layers", SEES, flags, "the picture", "the build")
    check_includes(run, flags)
    check_outside(run)
