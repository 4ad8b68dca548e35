"""What a run says at its end beside what passed: what each fault did, and how generated requests were answered.

Tests write rows with `record_property`; they reach the process that prints, whichever ran them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any


def told(terminalreporter: Any, name: str) -> list[Any]:
    """Return what tests recorded under a name."""
    reports = [one for kind in ("passed", "failed") for one in terminalreporter.stats.get(kind, ())]
    return [value for one in reports for key, value in getattr(one, "user_properties", ()) if key == name]


def faults(terminalreporter: Any) -> None:
    """Print what each fault did."""
    rows = told(terminalreporter, "fault")
    if not rows:
        return
    terminalreporter.section("faults")
    head = ["fault", "database", "acknowledged", "lost", "doubled", "seconds until it worked again"]
    for row in [head, *rows]:
        first, second, *numbers = map(str, row)
        terminalreporter.write_line(f"{first:44} {second:11} " + " ".join(f"{each:>12}" for each in numbers))


def requests(terminalreporter: Any) -> None:
    """Print how many generated requests were made, and how they were answered."""
    rows = told(terminalreporter, "generated requests")
    if not rows:
        return
    total = _sum(answers for _label, answers in rows)
    kinds = ", ".join(f"{count} x {status}" for status, count in sorted(total.items()))
    terminalreporter.section("requests generated from the API's schema")
    terminalreporter.write_line(
        f"{len(rows)} operations, {total.total()} requests, all as the schema says: {kinds}"
    )


def _sum(counts: Iterable[dict[int, int]]) -> Counter[int]:
    total: Counter[int] = Counter()
    for one in counts:
        total.update({int(status): count for status, count in one.items()})
    return total
