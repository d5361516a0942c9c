#!/bin/sh
# install.sh FOLDER [WHERE] - puts what the package.json of WHERE (this folder, where not said) names into FOLDER (a build folder;
# nothing is written here), once.
set -eu
[ $# -eq 1 ] || [ $# -eq 2 ] || { echo "usage: install.sh FOLDER [WHERE]" >&2; exit 2; }
here=${2:-$(cd "$(dirname "$0")" && pwd)}
mkdir -p "$1"
exec 9>"$1/lock"
flock 9 # tests run side by side
cmp -s "$here/package.json" "$1/installed" && exit 0
cp "$here/package.json" "$1/package.json"
npm install --prefix "$1" --no-package-lock --ignore-scripts --no-audit --no-fund --silent
cp "$here/package.json" "$1/installed"
