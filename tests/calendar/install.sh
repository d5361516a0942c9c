#!/bin/sh
# install.sh FOLDER [WHERE] - puts what the package.json of WHERE (this folder, where not said) names into FOLDER (a build folder;
# nothing is written here).
set -eu
[ $# -eq 1 ] || [ $# -eq 2 ] || { echo "usage: install.sh FOLDER [WHERE]" >&2; exit 2; }
here=${2:-$(cd "$(dirname "$0")" && pwd)}
mkdir -p "$1"
cp "$here/package.json" "$1/package.json"
exec npm install --prefix "$1" --no-package-lock --ignore-scripts --no-audit --no-fund --silent
