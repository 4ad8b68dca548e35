"""The measurement of growth, at a small size: what it asks for is real, and a goal that is missed is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from bench import __main__ as bench
from bench import calendar_servers, growth, growth_databases, growth_farm
from bench.growth import KINDS, Place, Size
from farm.models import ChoreMark, Farm, HistoryEntry

SMALL = Size((1, 20, 200), 4, 15)


def times(many: float, night: float = 0.001) -> dict[tuple[str, int], list[float]]:
    """Return answers of 10 ms each, but for so many seconds with 200 farms."""
    by_farms = {1: 0.010, 20: 0.010, 200: many}
    found = {(kind, farms): [took] * 4 for kind in KINDS for farms, took in by_farms.items()}
    return found | {("constant", 0): [night] * 4}


def queries(many: int) -> dict[int, dict[str, int]]:
    return {farms: dict.fromkeys(KINDS, many if farms == 200 else 9) for farms in SMALL.farms}


def test_it_is_a_measurement_and_what_it_stands_on_is_none():
    names = bench.measurements()
    assert "growth" in names
    assert not {"growth_databases", "growth_farm", "growth_jobs"} & set(names)


def test_quick_is_no_name_of_a_measurement(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("BENCH_QUICK", "")
    assert bench.main(["--quick", "nothing"], {"growth": growth}) == 2
    assert growth.os.environ["BENCH_QUICK"] == "1"


def test_a_page_that_is_as_quick_among_many_farms_reaches_the_goal(capsys: pytest.CaptureFixture[str]):
    assert growth.told(times(0.011), queries(9), SMALL) == []
    said = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    assert "today 200 11.00 11.00 11.00 9 11.0x" in said
    assert "today 200 farms beside 20: 1.10x (goal 1.2x), +0 queries" in said


def test_a_page_that_grows_with_other_farms_misses_the_goal():
    missed = growth.told(times(0.013), queries(9), SMALL)
    assert missed == [f"{kind} grows 1.30x" for kind in KINDS]


def test_a_page_that_asks_more_of_the_database_among_many_farms_misses_it_too():
    missed = growth.told(times(0.010), queries(11), SMALL)
    assert missed == [f"{kind} asks 2 queries more" for kind in KINDS]


def test_servers_are_asked_in_turns_and_each_answer_is_timed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(growth, "KINDS", ("constant",))
    (tmp_path / "x").write_bytes(b"constant")
    with calendar_servers.constant(tmp_path / "x") as port:
        took = growth.timed({1: Place(port, {}), 20: Place(port, {})}, Place(port, {}), turns=3)
    assert {name: len(found) for name, found in took.items()} == {
        ("constant", 0): 3,
        ("constant", 1): 3,
        ("constant", 20): 3,
    }
    assert all(0 < seconds < 5 for found in took.values() for seconds in found)


def test_ticks_are_taken_back_in_turns():
    place = Place(1, {"session": "s", "tick": {"source": "room:1/look"}})
    lines = [place.octets("tick").split(b"\r\n")[0] for _turn in range(3)]
    assert lines == [
        b"POST /today/mark/ HTTP/1.1",
        b"POST /today/unmark/ HTTP/1.1",
        b"POST /today/mark/ HTTP/1.1",
    ]


def test_the_measured_farm_is_signed_in_to_and_left_as_it_was(db: None):
    growth_farm._fill(1)
    marks = ChoreMark.objects.count()

    said = growth_farm.ready()

    assert said["queries"].keys() == set(KINDS)
    assert all(1 <= asked < 100 for asked in said["queries"].values())
    assert said["queries"]["calendar 304"] <= said["queries"]["calendar 200"]
    assert ChoreMark.objects.count() == marks
    assert HistoryEntry.objects.filter(verb="untick").count() == 1
    growth_farm._fill(1)
    assert Farm.objects.count() == 1


def test_without_servers_nothing_is_measured_and_that_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setattr(growth_databases, "SERVER", "postgres://nobody@127.0.0.1:1/none")
    assert not growth.measure()
    assert "not measured, it needs servers" in capsys.readouterr().out
