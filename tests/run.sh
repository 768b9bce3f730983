#!/bin/sh
# Every check of the project: style, types, import contract, tests.
#
#   sh tests/run.sh                       the quick tier: every check and every test
#   sh tests/run.sh --coverage            the same, and the branches that the tests run
#   sh tests/run.sh [pytest arguments]    some of the tests, in one process
#   sh tests/run.sh --long                the long tier: two hours; writes its figures to tests/long.md
#   sh tests/run.sh --help
#
# Measuring coverage takes more than half as long again as the tests, so the quick tier leaves it
# out. It fails below 95 %. Laws are tried on 100 cases, the same ones in each run; on fewer where
# the properties from outside ask the same, or where each case stands for many decisions.
#
# The long tier has the checks of the quick one with the full counts (500 cases of each law,
# every pair of failures, 1,500 cases of each property from outside), what asks an index (an
# installation with its libraries, generated clients), and 400 mutants with seed 20261129.
#
# WEATHER_CORPORA may name a folder of real report corpora; APPROACH_TEST_POSTGRES a database.
# Tests that need what is not there are skipped and say so.
set -eu

root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)

if [ "${1:-}" = --help ]; then
    sed -n '2,/^set -eu/{/^#/s/^# \{0,1\}//p;}' "$0"
    exit 0
fi

. "$root/service/environment.sh"

make_environment
install_requirements service/requirements.txt
install_requirements tests/requirements.txt

cd "$root"
PATH=$root/.venv/bin:$PATH
HYPOTHESIS_PROFILE=${HYPOTHESIS_PROFILE:-ci}
export PATH HYPOTHESIS_PROFILE

# Tests start many processes of the service: none of them should have to compile it anew.
unset PYTHONDONTWRITEBYTECODE
python -m compileall -q decision service

# The types take one processor for a minute: what else there is to check has the other one meanwhile,
# and the tests take over from there. What mypy says is shown at the end.
said=$(mktemp -d)
trap 'rm -rf "$said"' EXIT
say "mypy, ruff check, ruff format, import contract"
mypy >"$said/mypy" 2>&1 & types=$!
ruff check .
ruff format --check .
lint-imports

# Three processes begin with a third of the files each; who is done first takes over from the others,
# so that all end together. They are more than two processors, since many tests wait for processes.
side_by_side() { python -m pytest -n 3 --dist worksteal "$@"; }

if [ "${1:-}" = --long ]; then
    HYPOTHESIS_PROFILE=nightly PROPERTY_CASES=1500
    export HYPOTHESIS_PROFILE PROPERTY_CASES
    wait "$types" || { cat "$said/mypy"; exit 1; }
    say "pytest, full counts"
    side_by_side -o timeout=14400 --junitxml="$said/tests.xml" || say "some tests failed"
    say "load, with the machine for itself"
    python -m pytest -o timeout=14400 --junitxml="$said/load.xml" tests/faults/test_load.py \
        || say "a load was not borne"
    say "mutants"
    python -m tests.bench.mutants --sample 400 --seed 20261129 --json "$said/mutants.json"
    python -m tests.long "$said"
    exit
fi

say "pytest"
passed=0
if [ "${1:-}" = --coverage ]; then
    side_by_side --cov --cov-branch --cov-report=term:skip-covered --cov-fail-under=95 || passed=$?
elif [ $# -gt 0 ]; then
    python -m pytest "$@" || passed=$?
else
    side_by_side || passed=$?
fi
wait "$types" || passed=$?
cat "$said/mypy"
exit "$passed"
