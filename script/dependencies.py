"""What the project runs on: is each licence permissive, has each a bound, is a weakness of the installed one known?"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterable, Mapping
from importlib import metadata
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[1]
PROJECT = "featherdays"
EXTRAS = frozenset({"postgres"})  # what a server may run on; what only tests need stays on our own machines
FINE, WRONG, NOT_ASKED = 0, 1, 3
SHOWN = 3  # of what could not be asked about

#: SPDX names of licences that ask for no more than their own text to be passed on.
PERMISSIVE = frozenset(
    {
        *(
            "0BSD",
            "Apache-2.0",
            "BSD-2-Clause",
            "BSD-3-Clause",
            "CC0-1.0",
            "HPND",
            "ISC",
            "MIT",
            "MIT-0",
            "MIT-CMU",
        ),
        *("PSF-2.0", "Python-2.0", "Unlicense", "Zlib", "ZPL-2.1"),
    }
)
#: As older packages write them.
CALLED = {
    "apache software license": "Apache-2.0",
    "bsd": "BSD-3-Clause",
    "bsd license": "BSD-3-Clause",
    "isc license (iscl)": "ISC",
    "mit license": "MIT",
    "mozilla public license 2.0 (mpl 2.0)": "MPL-2.0",
    "new bsd": "BSD-3-Clause",
    "python software foundation license": "PSF-2.0",
    "the unlicense (unlicense)": "Unlicense",
    "zope public license": "ZPL-2.1",
    "zpl 2.1": "ZPL-2.1",
}
#: Others, and why they are taken.
LET_IN = {
    "certifi": (
        "MPL-2.0",
        "a list of certificates that push services are reached with; used as it is, changed nowhere",
    ),
    "psycopg": (
        "LGPL-3.0-only",
        "used as it is, as a library that can be replaced; only where PostgreSQL is used",
    ),
    "psycopg-binary": ("LGPL-3.0-only", "the same in compiled form"),
}
#: Dependencies without an upper bound, and why.
UNBOUND = {"tzdata": "the world's time zones, named by year: the newest is the right one"}


def installed() -> dict[str, metadata.Distribution]:
    """Return name to distribution of everything the project needs to run, itself left out. KeyError: one is missing."""
    found: dict[str, metadata.Distribution] = {}
    waiting = [(PROJECT, EXTRAS)]
    while waiting:
        name, extras = waiting.pop()
        distribution = found[name] if name in found else metadata.distribution(name)
        for line in distribution.requires or ():
            needs = Requirement(line)
            if not _holds(needs, extras):
                continue
            key = canonicalize_name(needs.name)
            if key not in found or needs.extras:
                found[key] = metadata.distribution(needs.name)
                waiting.append((key, frozenset(needs.extras)))
    return found


def licences(said: Mapping[str, Iterable[str]]) -> list[set[str]]:
    """Return the licences of a package: any one of each set will do, all sets apply.

    said: the values of License-Expression, License and Classifier of its metadata.
    """
    for expression in said.get("License-Expression", ()):
        return [set(re.split(r"\s+OR\s+", part.strip("() "))) for part in re.split(r"\s+AND\s+", expression)]
    named = [
        one.rpartition(" :: ")[2] for one in said.get("Classifier", ()) if one.startswith("License :: ")
    ] or [one.strip() for one in said.get("License", ())]
    names = {CALLED.get(one.lower(), one) for one in named if one}
    return [names or {"none named"}]


def bad_licences(packages: Mapping[str, Mapping[str, Iterable[str]]]) -> list[str]:
    """Return a line for each package whose licence is not permissive and was not let in."""
    found = []
    for name, said in sorted(packages.items()):
        allowed = PERMISSIVE | ({LET_IN[name][0]} if name in LET_IN else set())
        for choice in licences(said):
            if not choice & allowed:
                found.append(f"{name}: its licence is {' or '.join(sorted(choice))}")
    return found


def without_bound(project: Mapping[str, object]) -> list[str]:
    """Return a line for each dependency in a pyproject's [project] table that any later version would satisfy."""
    parts = [*project.get("dependencies", ())]  # type: ignore[misc]
    for more in project.get("optional-dependencies", {}).values():  # type: ignore[attr-defined]
        parts += more
    return [
        f"{needs.name}: no upper bound in pyproject.toml"
        for needs in map(Requirement, parts)
        if canonicalize_name(needs.name) not in UNBOUND
        and not {"<", "<=", "==", "~="} & {one.operator for one in needs.specifier}
    ]


def weaknesses(pins: Iterable[str], osv_url: str = "") -> tuple[int, list[str]]:
    """Ask about `name==version` lines; return FINE, WRONG or NOT_ASKED, and what there is to say."""
    with tempfile.NamedTemporaryFile("w", suffix=".txt") as file:
        file.write("\n".join(pins))
        file.flush()
        command = [sys.executable, "-m", "pip_audit", "-r", file.name, "--no-deps", "--disable-pip"]
        command += ["--format", "json", "--progress-spinner", "off", "--desc", "off"]
        command += ["--vulnerability-service", "osv", "--osv-url", osv_url] if osv_url else []
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=600, check=False)
        except subprocess.TimeoutExpired:
            return NOT_ASKED, ["no answer within ten minutes"]
    return judged(done.returncode, done.stdout, done.stderr)


def judged(code: int, answer: str, complaints: str) -> tuple[int, list[str]]:
    """Return what pip-audit's answer means: without one, nobody was asked, whatever its exit code."""
    try:
        read = json.loads(answer)["dependencies"]
    except (ValueError, KeyError, TypeError):
        return NOT_ASKED, [complaints.strip().splitlines()[-1] if complaints.strip() else f"exit code {code}"]
    skipped = [f"{one['name']}: {one['skip_reason']}" for one in read if "skip_reason" in one]
    known = [
        f"{one['name']} {one['version']}: {weak['id']}, mended in {', '.join(weak['fix_versions']) or 'no version'}"
        for one in read
        for weak in one.get("vulns", ())
    ]
    if known:
        return WRONG, known + skipped
    if not skipped:
        return FINE, []
    more = [f"and {len(skipped) - SHOWN} more"] if len(skipped) > SHOWN else []
    return NOT_ASKED, skipped[:SHOWN] + more


def main(arguments: list[str] | None = None) -> int:
    """Judge and say; return the exit code."""
    parser = argparse.ArgumentParser(prog="script/audit", description=__doc__)
    parser.add_argument("--offline", action="store_true", help="licences and bounds alone")
    parser.add_argument("--osv-url", default="", help="ask this service instead of PyPI's")
    asked = parser.parse_args(arguments)
    packages = installed()
    wrong = bad_licences({name: _said(one) for name, one in packages.items()})
    wrong += without_bound(tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"])
    print(*wrong, sep="\n") if wrong else print(f"{len(packages)} packages: licences and bounds are right.")
    if asked.offline:
        return WRONG if wrong else FINE
    state, told = weaknesses((f"{name}=={one.version}" for name, one in packages.items()), asked.osv_url)
    if state == NOT_ASKED:
        print("Advisories could not be asked:", *told, sep="\n  ")
    elif told:
        print("Known weaknesses:", *told, sep="\n  ")
    else:
        print("No known weaknesses.")
    return WRONG if wrong else state


def _holds(needs: Requirement, extras: frozenset[str]) -> bool:
    if needs.marker is None:
        return True
    return any(needs.marker.evaluate({"extra": extra}) for extra in {"", *extras})


def _said(distribution: metadata.Distribution) -> dict[str, list[str]]:
    names = ("License-Expression", "License", "Classifier")
    return {name: [str(one) for one in distribution.metadata.get_all(name) or ()] for name in names}


if __name__ == "__main__":
    sys.exit(main())
