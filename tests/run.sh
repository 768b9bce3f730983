#!/bin/sh
# Every check of the project: style, types, import contract, tests with coverage.
#
#   sh tests/run.sh                       the quick tier, as CI runs it: some 10 minutes
#   sh tests/run.sh [pytest arguments]    some of the tests, one process, without coverage
#   sh tests/run.sh --long                the long tier: hours; writes its figures to tests/long.md
#   sh tests/run.sh --help
#
# The long tier has the checks of the quick one with the full counts (2,000 cases of each law,
# every pair of failures, 1,500 cases of each property from outside) in place of coverage, and 400
# mutants with seed 20261129.
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
export PATH

say "ruff check";        ruff check .
say "ruff format";       ruff format --check .
say "mypy";              mypy
say "import contract";   lint-imports

# Two processes, each with whole files: what a file shares (a server, a store) is started once.
# What holds the clock on the wall to a limit runs afterwards, in one.
in_two() { python -m pytest -n 2 --dist loadfile -m "not clock" "$@"; }
alone() { python -m pytest -m clock "$@"; }

if [ "${1:-}" = --long ]; then
    figures=$(mktemp -d)
    trap 'rm -rf "$figures"' EXIT
    HYPOTHESIS_PROFILE=nightly PROPERTY_CASES=1500
    export HYPOTHESIS_PROFILE PROPERTY_CASES
    say "pytest, full counts"
    in_two -o timeout=14400 --junitxml="$figures/tests.xml" || say "some tests failed"
    alone --junitxml="$figures/clock.xml" || say "some tests failed"
    say "mutants"
    python -m tests.bench.mutants --sample 400 --seed 20261129 --json "$figures/mutants.json"
    python -m tests.long "$figures"
    exit
fi

say "pytest"
if [ $# -gt 0 ]; then
    exec python -m pytest "$@"
fi
status=0
in_two --cov --cov-branch --cov-report= || status=1
alone --cov --cov-branch --cov-append --cov-report=term:skip-covered --cov-fail-under=95 || status=1
exit $status
