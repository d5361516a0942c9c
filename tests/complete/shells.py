"""The three shells, each asked as it is meant to be: what it offers for a line that is being typed."""
import os
import pathlib
import pty
import re
import select
import shlex
import subprocess
import time

PLAIN = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "PATH": os.environ["PATH"]}


class Terminal:
    """An interactive shell on a terminal of its own."""

    def __init__(self, words, cwd, **more):
        self.pid, self.end = pty.fork()
        if self.pid == 0:
            os.chdir(cwd)
            os.execvpe(words[0], words, {**PLAIN, "HOME": str(cwd), "PS1": "", **more})

    def type(self, text):
        os.write(self.end, text.encode())

    def wait(self, path, seconds=30):
        """Until the file is there, reading away what the shell shows. What it has then; None where it does not come."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            if select.select([self.end], [], [], 0.01)[0]:
                try:
                    os.read(self.end, 65536)
                except OSError:
                    return None
            if path.exists():
                text = path.read_text()
                path.unlink()
                return text
        return None

    def close(self):
        os.close(self.end)
        os.waitpid(self.pid, 0)


class Bash:
    """The function that `complete` names, called with the words that bash would call it with."""
    name, quotes = "bash", True

    def __init__(self, build, cwd):
        self.script, self.cwd = build / "complete" / "daydrip", cwd

    def offers(self, line):
        words = [part for word in shlex.split(line + "|") for part in re.split(r"(=)", word) if part]
        words[-1] = words[-1].removesuffix("|")
        script = (f"source {shlex.quote(str(self.script))}\n" + "COMP_WORDS=(" + " ".join(map(shlex.quote, words)) + ")\n"
                  f"COMP_CWORD={len(words) - 1}\n" + "function=$(complete -p daydrip); function=${function#*-F }; ${function%% *}\n"
                  'printf "%s\\n" "${COMPREPLY[@]}"\n')
        done = subprocess.run(["bash", "--norc", "--noprofile", "-c", script], cwd=self.cwd, capture_output=True, text=True, env=PLAIN)
        return set(done.stdout.split("\n")) - {""}, done.stderr

    def typed(self, line, folder):
        """What the command is given where the line is typed, with a tab at its end."""
        out = pathlib.Path(folder) / "typed"
        shell = Terminal(["bash", "--norc", "--noprofile", "-i"], self.cwd)
        shell.type(f"source {shlex.quote(str(self.script))}; daydrip() {{ printf '%s\\n' \"$@\" >{out}.part; mv {out}.part {out}; }}\n")
        shell.type(f"{line}\t\n")
        text = shell.wait(out)
        shell.close()
        return (text or "").split("\n")[:-1]


ZSH = r"""
fpath=({complete} $fpath)
autoload -Uz compinit
compinit -u -D
unsetopt auto_menu list_ambiguous
LISTMAX=100000
compadd() {{
  if [[ ${{@[1,(i)(-|--)]}} == *-(O|A|D)\ * ]]; then builtin compadd "$@"; return $?; fi
  local -a hits
  builtin compadd -A hits "$@"
  print -rl -- $hits >>{folder}/offers.part
  builtin compadd "$@"
}}
probe() {{
  : >{folder}/offers.part
  BUFFER="$(<{folder}/line)"
  BUFFER=${{BUFFER%|}}
  CURSOR=$#BUFFER
  zle complete-word
  print -r -- "line $BUFFER" >>{folder}/offers.part
  BUFFER=
  mv {folder}/offers.part {folder}/offers
}}
zle -N probe
bindkey '^P' probe
print ready >{folder}/ready
"""


class Zsh:
    """An interactive zsh; what its completions add is written down on the way."""
    name, quotes = "zsh", False

    def __init__(self, build, cwd, folder):
        self.folder = pathlib.Path(folder)
        setup = self.folder / "setup.zsh"
        setup.write_text(ZSH.format(complete=build / "complete", folder=folder))
        self.shell = Terminal(["zsh", "-f", "-i"], cwd)
        self.shell.type(f"source {setup}\n")
        if self.shell.wait(self.folder / "ready") is None:
            raise SystemExit("zsh does not come up")

    def offers(self, line):
        (self.folder / "line").write_text(line + "|\n")
        self.shell.type("\x10")
        text = self.shell.wait(self.folder / "offers")
        if text is None:
            return set(), "no answer"
        lines = text.split("\n")
        self.line = next(entry[5:] for entry in lines if entry.startswith("line "))
        return {entry for entry in lines if entry and not entry.startswith("line ")}, ""

    def typed(self, line, folder):
        self.offers(line)
        return shlex.split(self.line)[1:]


class Fish:
    """`complete -C`, which is what fish itself asks."""
    name, quotes = "fish", False

    def __init__(self, build, cwd, folder):
        self.script, self.cwd, self.home = build / "complete" / "daydrip.fish", cwd, folder

    def offers(self, line):
        done = subprocess.run(["fish", "--no-config", "-c", f"source {shlex.quote(str(self.script))}; complete -C $argv[1]", line], cwd=self.cwd,
                              capture_output=True, text=True, env={**PLAIN, "HOME": str(self.home)})
        return {entry.split("\t")[0] for entry in done.stdout.split("\n")} - {""}, done.stderr
