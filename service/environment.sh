# shellcheck shell=sh disable=SC2154
# Sourced by service/run.sh and tests/run.sh: the Python environment in .venv, made when missing.
# Sets `python`. Needs `root`, the project's folder.

say() { printf '%s\n' "$*" >&2; }
die() { say "error: $*"; exit 1; }

find_python() {
    for name in python3 python3.14 python3.13 python3.12 python3.11 python; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$name"
            return
        fi
    done
    die "Python 3.11 or newer is needed; 'python3 --version' says: $(python3 --version 2>&1)"
}

works() {
    "$1" -c 'import sys, pip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null
}

make_environment() {
    python=$root/.venv/bin/python
    works "$python" && return
    base=$(find_python) || exit 1
    say "Making the environment in .venv with $("$base" --version) ..."
    "$base" -m venv --clear "$root/.venv" \
        || die "'$base -m venv' failed; on Debian and Ubuntu: apt-get install python3-venv"
}

# Installs a hashed requirements file, unless exactly this file was installed before.
install_requirements() {
    file=$root/$1
    stamp=$root/.venv/installed-$(printf '%s' "$1" | tr '/' '-')
    digest=$("$python" -c \
        'import hashlib, sys; print(hashlib.sha256(open(sys.argv[1], "rb").read()).hexdigest())' \
        "$file")
    [ "$(cat "$stamp" 2>/dev/null)" = "$digest" ] && return
    say "Installing $1 (once; every file is checked against its hash) ..."
    "$python" -m pip install --disable-pip-version-check --no-input --no-deps --require-hashes \
        -r "$file" >&2 || die "installing $1 failed; the lines above say why"
    printf '%s\n' "$digest" >"$stamp"
}
