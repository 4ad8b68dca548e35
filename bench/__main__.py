"""Run the named measurements, or all of them.

A measurement is a module in this folder with a docstring and `measure() -> bool`; True means its goal was
reached and its two ways agreed. Modules without `measure` are helpers. Exit code 1 if any falls short.
`--quick` asks those that can for less, to try the measuring itself.
"""

from __future__ import annotations

import importlib
import os
import pkgutil
import sys
from collections.abc import Callable, Mapping
from types import ModuleType

import bench


def measurements() -> Mapping[str, ModuleType]:
    """Return every module of this folder that has a `measure`, by name."""
    names = sorted(info.name for info in pkgutil.iter_modules(bench.__path__) if info.name != "__main__")
    modules = {name: importlib.import_module(f"bench.{name}") for name in names}
    return {name: module for name, module in modules.items() if hasattr(module, "measure")}


def main(arguments: list[str], known: Mapping[str, ModuleType]) -> int:
    """Run what `arguments` name of the `known`, or all; return the exit code, 2 for an unknown name."""
    if "--quick" in arguments:
        os.environ["BENCH_QUICK"] = "1"
        arguments = [name for name in arguments if name != "--quick"]
    unknown = [name for name in arguments if name not in known]
    if unknown:
        print(f"No measurement called {', '.join(unknown)}. There are: {', '.join(known)}.", file=sys.stderr)
        return 2
    reached = []
    for name in arguments or known:
        print(f"{name}: {(known[name].__doc__ or '').splitlines()[0]}")
        measure: Callable[[], bool] = known[name].measure
        reached.append(measure())
    return 0 if all(reached) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:], measurements()))
