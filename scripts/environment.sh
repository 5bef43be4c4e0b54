# Sourced by demo and test: makes .venv in the project and installs renet into it.
# Nothing is installed again until pyproject.toml or the compiled module's source changes.

find_python() {
    local name
    for name in python3.13 python3.12 python3.11 python3; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$name"
            return
        fi
    done
    echo "renet needs Python 3.11 or newer; none of python3.13, python3.12, python3.11, python3 is." >&2
    echo "Install one (for Debian or Ubuntu: sudo apt install python3 python3-venv) and run this again." >&2
    return 1
}

make_venv() {
    local python
    if .venv/bin/python -c 'import sys, pip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
        return
    fi
    python=$(find_python)
    rm -rf .venv
    if ! "$python" -m venv .venv; then
        rm -rf .venv
        echo "$python cannot make a virtual environment (for Debian or Ubuntu: sudo apt install python3-venv)." >&2
        return 1
    fi
}

# prepare EXTRAS: "" for what a user needs, "[test]" for what the tests need as well.
prepare() {
    local extras=$1 stamp want
    make_venv
    stamp=".venv/installed${extras//[\[\]]/-}"
    want="$(cat pyproject.toml renet/_kernel.c scripts/build_kernel.py | cksum) $PWD"
    if [ "$(cat "$stamp" 2>/dev/null)" != "$want" ]; then
        echo "Preparing .venv (once; takes a minute) ..." >&2
        .venv/bin/python -m pip install --quiet --disable-pip-version-check --editable ".$extras"
        echo "$want" >"$stamp"
    fi
}
