# Shared by the scripts beside it: finds Python and keeps .venv in step with pyproject.toml.
# Sets $root, $python. Sourced, never run.

root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
python="$root/.venv/bin/python"

stop() {
    printf 'featherdays: %s\n' "$*" >&2
    exit 1
}

find_python() {
    command -v python3 >/dev/null 2>&1 || stop "python3 was not found. Install Python 3.11 or newer."
    if ! python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
        stop "Python 3.11 or newer is needed, and python3 is $(python3 --version 2>&1). Install a newer Python."
    fi
    python3 -c 'import venv, ensurepip' >/dev/null 2>&1 ||
        stop "Python's venv module is missing. On Debian or Ubuntu: apt install python3-venv"
}

# The stamp holds what was installed for: a changed pyproject.toml or Python makes it differ.
stamp_now() {
    printf '%s %s\n' "$(python3 --version 2>&1)" "$(cksum <"$root/pyproject.toml")"
}

is_installed() {
    [ -x "$python" ] && "$python" -c '' 2>/dev/null &&
        [ "$(cat "$root/.venv/installed-$1" 2>/dev/null)" = "$(stamp_now)" ]
}

# install NAME [EXTRA]: NAME says what for; EXTRA is the optional part of pyproject.toml it needs.
install() {
    find_python
    if is_installed "$1" || is_installed test; then
        return
    fi
    printf 'Installing into .venv (the first time this takes a minute or two) …\n'
    "$python" -c '' 2>/dev/null || rm -rf "$root/.venv"
    python3 -m venv "$root/.venv" || stop "the virtual environment could not be made in $root/.venv"
    "$python" -m pip install --disable-pip-version-check --editable "$root${2:+[$2]}" ||
        stop "installing failed; the lines above say why. Is this machine online?"
    stamp_now >"$root/.venv/installed-$1"
    printf 'Installed.\n'
}
