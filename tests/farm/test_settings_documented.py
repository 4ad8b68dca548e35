"""Every setting the code reads is in DEVELOPERS.md, and the table promises none that isn't read."""

import ast
import re
from pathlib import Path

from farm import settings

ROOT = Path(__file__).resolve().parents[2]
READERS = {"text", "flag", "number", "listing", "choice", "secret", "address", "link"}
SECTION = re.compile(r"^## Settings\n(.*?)(?=^## |\Z)", re.S | re.M)
ROW = re.compile(r"^\| `([A-Z][A-Z0-9_]+)` \|", re.M)


def documented():
    section = SECTION.search((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    return ROW.findall(section.group(1))


def read_by(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        match node:
            case ast.Call(func=ast.Attribute(value=ast.Name(id="env"), attr=reader), args=[name, *_]):
                if reader in READERS:
                    yield ast.literal_eval(name)


def read_in_python():
    return [name for path in (ROOT / "farm/settings").glob("*.py") for name in read_by(path)]


def read_in_scripts():
    text = "".join((ROOT / name).read_text(encoding="utf-8") for name in ("script/test", ".ci/run"))
    return set(re.findall(r"\$\{(FEATHERDAYS_[A-Z_]+|REQUIRE_[A-Z]+):-", text))


def test_every_variable_is_read_in_one_place():
    names = read_in_python()
    assert sorted(names) == sorted(set(names))
    assert {"FEATHERDAYS_DATA", "DATABASE_URL", "FEATHERDAYS_TLS"} <= set(names)


def test_the_table_lists_exactly_the_variables_that_are_read():
    assert sorted(documented()) == sorted({*read_in_python(), *read_in_scripts()})


def test_no_other_module_reads_the_environment_for_a_setting():
    allowed = ROOT / "farm/settings"
    pattern = re.compile(r"environ|getenv")
    sources = [path for top in ("farm", "calendars", "tasks") for path in (ROOT / top).rglob("*.py")]
    readers = {
        path.relative_to(ROOT).as_posix()
        for path in sources
        if allowed not in path.parents and pattern.search(path.read_text(encoding="utf-8"))
    }
    # They hand the environment on, or name the settings module.
    assert readers <= {
        "farm/wsgi.py",
        "tasks/app.py",
        "farm/management/supervisor.py",
        "farm/management/commands/start.py",
    }


def test_the_defaults_in_the_table_are_those_of_the_code():
    section = SECTION.search((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")).group(1)
    defaults = dict(re.findall(r"^\| `(\w+)` \| ([^|]+?) \|", section, re.M))
    assert defaults["FEATHERDAYS_THREADS"] == str(settings.THREADS)
    assert defaults["FEATHERDAYS_MAIL_FROM"] == f"`{settings.DEFAULT_FROM_EMAIL}`"
