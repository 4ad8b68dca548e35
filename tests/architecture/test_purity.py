"""The pure parts load no framework: proved in a process of their own, where nothing else has been imported."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

import farm

PROBE = """
import importlib, json, pkgutil, sys
root = importlib.import_module(ROOT)
names = [ROOT] + [name for _, name, _ in pkgutil.walk_packages(getattr(root, "__path__", []), ROOT + ".")]
for name in names:
    importlib.import_module(name)
print(json.dumps([names, sorted(sys.modules)]))
"""
BANNED = ("django", "celery", "redis", "rest_framework", "icalendar", "kombu")


def loaded_by(root: str) -> tuple[list[str], list[str]]:
    """Return the modules found under `root`, and every module a fresh interpreter holds after importing them."""
    code = PROBE.replace("ROOT", repr(root))
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    names, modules = json.loads(done.stdout)
    return names, modules


@pytest.mark.parametrize(
    "root", ["farm.trade", "farm.husbandry", "farm.planning", "farm.units", "farm.phrase"]
)
def test_importing_every_module_of_a_pure_part_loads_no_framework(root):
    names, modules = loaded_by(root)
    assert root in names
    assert {name.split(".")[0] for name in modules} & set(BANNED) == set()


@pytest.mark.parametrize("root", ["farm.trade", "farm.husbandry", "farm.planning"])
def test_the_probe_reaches_every_module_file_of_the_part(root):
    names, modules = loaded_by(root)
    package = Path(farm.__file__).parent
    files = (package / root.rpartition(".")[2]).rglob("*.py")
    dotted = {".".join(path.relative_to(package.parent).with_suffix("").parts) for path in files}
    assert set(names) == {name.removesuffix(".__init__") for name in dotted}
    assert set(names) <= set(modules)


def test_the_probe_would_see_a_framework_that_is_loaded():
    code = "import django, sys; print('django' in {name.split('.')[0] for name in sys.modules})"
    assert (
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "True"
    )
