#!/bin/sh
# Every check of the project, as CI runs it: style, types, import contract, tests with coverage.
#
#   sh tests/run.sh [pytest arguments]
#
# With arguments (some of the tests) coverage is not measured.
# WEATHER_CORPORA may name a folder of real report corpora; APPROACH_TEST_POSTGRES a database.
# Tests that need what is not there are skipped and say so.
set -eu

root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
. "$root/service/environment.sh"

make_environment
install_requirements service/requirements.txt
install_requirements tests/requirements.txt

cd "$root"
PATH=$root/.venv/bin:$PATH
export PATH

say "ruff check";        ruff check .
say "ruff format";       ruff format --check .
say "mypy";              mypy
say "import contract";   lint-imports

say "pytest"
if [ $# -gt 0 ]; then
    exec python -m pytest "$@"
fi
exec python -m pytest --cov --cov-branch --cov-report=term:skip-covered --cov-fail-under=95
