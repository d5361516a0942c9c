#!/usr/bin/python3
"""Holds what is written about the program against the program: run.py BINARY BUILD-FOLDER.

pages.py      the manual against --help, the schema and the lists of codes, both ways
examples.py   every command of README.md and of the manual is run, and what is shown compared with what comes
batch.py      what daydrip-hospital(7) says of parts and batch engines, run
installed.py  the tour of daydrip.h is built against an installed copy; each public header stands alone
layers.py     an include that reaches up to a higher layer must not compile
"""
import pathlib
import sys

import batch
import examples
import installed
import layers
import pages
from common import Run


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    run = Run(pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve())
    for part in (pages, examples, batch, installed, layers):
        part.check(run)
    print(f"{run.passed} passed, {run.failed} failed")
    return 1 if run.failed else 0


if __name__ == "__main__":
    sys.exit(main())
