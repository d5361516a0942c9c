#!/bin/sh
# install.sh FOLDER - puts what check.mjs needs into FOLDER (a build folder; nothing is written here).
set -eu
[ $# -eq 1 ] || { echo "usage: install.sh FOLDER" >&2; exit 2; }
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$1"
cp "$here/package.json" "$1/package.json"
exec npm install --prefix "$1" --no-package-lock --ignore-scripts --no-audit --no-fund --silent
