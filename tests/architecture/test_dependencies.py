"""What the project runs on: permissive licences, bounded versions, and an audit that tells weak from not asked."""

from __future__ import annotations

import json
import threading
import tomllib
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import ClassVar

import pytest

from script import dependencies
from script.dependencies import FINE, LET_IN, NOT_ASKED, WRONG

ROOT = Path(__file__).resolve().parents[2]


class Advisories(BaseHTTPRequestHandler):
    """Answers as osv.dev does: one package has a weakness below 2.20.0."""

    asked: ClassVar[list[tuple[str, str]]] = []
    status: ClassVar[int] = 200

    def do_POST(self) -> None:
        query = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        name, version = query["package"]["name"], query["version"]
        self.asked.append((name, version))
        weak = {
            "id": "TEST-2018-1",
            "modified": "2018-10-18T12:00:00Z",
            "published": "2018-10-18T12:00:00Z",
            "summary": "Sends what it should not.",
            "affected": [
                {
                    "package": {"name": "requests", "ecosystem": "PyPI"},
                    "ranges": [{"type": "ECOSYSTEM", "events": [{"introduced": "0"}, {"fixed": "2.20.0"}]}],
                }
            ],
        }
        answer = {"vulns": [weak]} if (name, version) == ("requests", "2.19.0") else {}
        self.send_response(self.status)
        self.end_headers()
        self.wfile.write(json.dumps(answer).encode())

    def log_message(self, *_: object) -> None:
        """Keep quiet."""


@pytest.fixture
def osv() -> Iterator[str]:
    """The address of a service of advisories on this machine."""
    Advisories.asked, Advisories.status = [], 200
    server = ThreadingHTTPServer(("127.0.0.1", 0), Advisories)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_address[1]}/v1/query"
    server.shutdown()
    server.server_close()


def test_a_version_with_a_known_weakness_is_wrong_and_says_what_mends_it(osv):
    state, told = dependencies.weaknesses(["requests==2.19.0", "idna==3.10"], osv)
    assert (state, told) == (WRONG, ["requests 2.19.0: TEST-2018-1, mended in 2.20.0"])
    assert sorted(Advisories.asked) == [("idna", "3.10"), ("requests", "2.19.0")]


def test_versions_without_one_are_fine(osv):
    assert dependencies.weaknesses(["requests==2.32.0"], osv) == (FINE, [])


def test_a_service_that_is_away_is_not_asked_which_is_neither_fine_nor_wrong():
    state, told = dependencies.weaknesses(["requests==2.19.0"], "http://127.0.0.1:9/v1/query")
    assert state == NOT_ASKED
    assert told != []


def test_a_service_that_fails_is_not_asked_either(osv):
    Advisories.status = 503
    assert dependencies.weaknesses(["requests==2.19.0"], osv)[0] == NOT_ASKED


def test_packages_the_service_does_not_know_are_not_taken_for_good():
    skipped = [{"name": f"p{n}", "skip_reason": "not found"} for n in range(5)]
    answer = json.dumps({"dependencies": skipped})
    told = ["p0: not found", "p1: not found", "p2: not found", "and 2 more"]
    assert dependencies.judged(0, answer, "") == (NOT_ASKED, told)


def test_the_whole_asks_about_everything_installed_to_run_and_ends_well(osv, capsys):
    assert dependencies.main(["--osv-url", osv]) == FINE
    assert "No known weaknesses." in capsys.readouterr().out
    names = {name for name, _version in Advisories.asked}
    assert {"django", "celery", "pillow", "psycopg", "sqlparse"} <= names
    assert names.isdisjoint({"featherdays", "pytest", "hypothesis"})


def test_every_licence_is_permissive_or_let_in_with_a_reason(capsys):
    assert dependencies.main(["--offline"]) == FINE
    assert "licences and bounds are right" in capsys.readouterr().out


def test_whatever_was_let_in_is_still_needed_and_has_that_licence():
    packages = dependencies.installed()
    for name, (licence, reason) in LET_IN.items():
        assert dependencies.licences(dependencies._said(packages[name])) == [{licence}], name
        assert reason


@pytest.mark.parametrize(
    "said, bad",
    [
        ({"License-Expression": ["GPL-3.0-only"]}, ["x: its licence is GPL-3.0-only"]),
        ({"License-Expression": ["MIT AND AGPL-3.0-only"]}, ["x: its licence is AGPL-3.0-only"]),
        ({"License-Expression": ["MIT OR GPL-2.0-only"]}, []),
        ({"License": ["GPL"]}, ["x: its licence is GPL"]),
        (
            {"Classifier": ["License :: OSI Approved :: GNU Affero General Public License v3"]},
            ["x: its licence is GNU Affero General Public License v3"],
        ),
        ({"Classifier": ["License :: OSI Approved :: MIT License"]}, []),
        ({}, ["x: its licence is none named"]),
    ],
)
def test_a_licence_that_is_not_permissive_is_found(said, bad):
    assert dependencies.bad_licences({"x": said}) == bad


def test_a_dependency_without_an_upper_bound_is_found():
    project = {
        "dependencies": ["Django>=5.2", "numpy>=2,<3", "tzdata"],
        "optional-dependencies": {"test": ["ruff", "a==1", "b~=1.2"]},
    }
    said = ": no upper bound in pyproject.toml"
    assert dependencies.without_bound(project) == [f"Django{said}", f"ruff{said}"]


def test_every_dependency_of_the_project_has_one():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert dependencies.without_bound(project) == []
