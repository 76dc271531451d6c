#!/bin/sh
# Installs the service, with its drivers and what sends traces, into a new environment: docker/install.sh FOLDER
# The versions are those of requirements.lock. PYTHON names the interpreter; python3 if it does not.
set -eu
folder=$1
source=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
copy=$(mktemp -d)
trap 'rm -rf "$copy"' EXIT

"${PYTHON:-python3}" -m venv "$folder"
# A wheel is built beside its sources; those stay as they are.
for part in pyproject.toml README.md api planning rules schemas storage; do
    cp -R "$source/$part" "$copy"
done
"$folder/bin/python" -m pip install --quiet --disable-pip-version-check \
    --constraint "$source/requirements.lock" "$copy[postgresql,redis,telemetry]"
"$folder/bin/stagewright" --version
