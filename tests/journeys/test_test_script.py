"""The last lines of `script/test` are honest: what failed, what was not tested, and when that counts as failed.

The script is real; the tools it calls are stand-ins that pass or fail as told, in a tree of their own.
"""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOOL = '#!/bin/sh\necho "$(basename "$0") $*" >>"$CALLS"\ncase " $FAILING " in *" $(basename "$0") "*) exit 1 ;; esac\n'
PYTHON = """#!/bin/sh
case "$*" in
    "-c ") exit 0 ;;
    *psycopg*) [ "$HAS_SERVICES" = 1 ]; exit ;;
    *redis.from_url*) [ "$HAS_SERVICES" = 1 ]; exit ;;
    "--version") echo "Python 3.11.0"; exit 0 ;;
    "-c "*) exit 0 ;;
esac
echo "python DATABASE_URL=${DATABASE_URL:-} $*" >>"$CALLS"
case "$FAILING" in *pytest*) case "$*" in *"-m pytest"*) exit 1 ;; esac ;; esac
"""


@pytest.fixture
def tree(tmp_path):
    """Return a function that runs the script with stand-ins and gives back (exit code, output, calls)."""
    shutil.copytree(ROOT / "script", tmp_path / "script")
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for name in ("farm", "browser"):
        (tmp_path / "tests" / name).mkdir(parents=True)
        (tmp_path / "tests" / name / "test_one.py").touch()
    bin_folder = tmp_path / ".venv" / "bin"
    bin_folder.mkdir(parents=True)
    icaljs = tmp_path / "icaljs" / "node_modules" / "ical.js" / "dist"
    icaljs.mkdir(parents=True)
    (icaljs / "ical.js").touch()
    for name in ("ruff", "mypy", "lint-imports", "python", "python3", "chromium", "node", "calcurse"):
        (bin_folder / name).write_text(PYTHON if name.startswith("python") else TOOL)
        (bin_folder / name).chmod(0o755)

    sums = subprocess.run(["cksum"], input=(tmp_path / "pyproject.toml").read_bytes(), capture_output=True)
    (tmp_path / ".venv" / "installed-test").write_text(f"Python 3.11.0 {sums.stdout.decode()}")

    def run(*arguments, services=True, failing="", **variables):
        env = {
            "PATH": f"{bin_folder}:{os.environ['PATH']}",
            "CALLS": str(tmp_path / "calls"),
            "FAILING": failing,
            "HAS_SERVICES": str(int(services)),
            "FEATHERDAYS_TEST_CHROMIUM": str(bin_folder / "chromium") if services else "/nowhere/chromium",
            "FEATHERDAYS_TEST_ICALJS": str(tmp_path / "icaljs") if services else "",
        }
        command = [tmp_path / "script" / "test", *arguments]
        done = subprocess.run(command, env=env | variables, capture_output=True, text=True, timeout=60)
        return done.returncode, done.stdout, (tmp_path / "calls").read_text().splitlines()

    return run


def result(output):
    return output.split("== Result\n")[1]


def test_with_everything_at_hand_and_passing_it_says_so_and_nothing_else(tree):
    code, output, calls = tree(REQUIRE_SERVICES="1")
    assert (code, result(output)) == (0, "Everything that ran has passed.\n")
    tests = [call for call in calls if "-m pytest" in call]
    assert [("DATABASE_URL=postgres" in call, "-m browser" in call) for call in tests] == [
        (False, False),
        (True, False),
        (False, True),
    ]


def test_services_that_are_absent_are_named_and_pass_at_home(tree):
    code, output, _ = tree(services=False)
    assert code == 0
    lines = result(output).splitlines()
    assert lines[:2] == ["Everything that ran has passed.", "Not tested:"]
    assert [line.split(":")[0].strip() for line in lines[2:]] == [
        "Redis",
        "Calendars read by ical.js",
        "PostgreSQL",
        "Browser",
    ]


def test_services_that_are_absent_fail_where_they_are_required(tree):
    code, output, _ = tree(services=False, REQUIRE_SERVICES="1")
    assert code == 1
    assert output.endswith("REQUIRE_SERVICES=1: what was not tested counts as failed.\n")


@pytest.mark.parametrize(
    "failing, named",
    [
        ("ruff", ["lint", "format"]),
        ("mypy", ["types"]),
        ("lint-imports", ["import contracts"]),
        ("pytest", ["tests on SQLite", "tests on PostgreSQL", "tests in a browser"]),
    ],
)
def test_a_failing_step_is_named_and_the_others_still_run(tree, failing, named):
    code, output, calls = tree(failing=failing)
    assert code == 1
    assert result(output).splitlines() == ["Failed:", *(f"  {name}" for name in named)]
    assert sum("-m pytest" in call for call in calls) == 3


def test_arguments_go_to_pytest_alone(tree):
    code, _, calls = tree("tests/farm", "-k", "one")
    assert (code, calls) == (0, ["python DATABASE_URL= -m pytest tests/farm -k one"])
