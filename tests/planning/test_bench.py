"""The measurements: what they run, and that they would notice."""

import subprocess
import sys
from pathlib import Path
from types import ModuleType

import numpy as np

from bench import __main__ as bench
from bench import farms, timing

ROOT = Path(__file__).resolve().parents[2]


def measurement(reached):
    """A measurement with a known end."""
    module = ModuleType("measurement", "Something measured.")
    module.measure = lambda: reached
    return module


def test_the_occupancy_measurement_is_found_by_its_name():
    assert "occupancy" in bench.measurements()


def test_helpers_are_not_measurements():
    assert not {"farms", "plain", "timing"} & set(bench.measurements())


def test_a_name_nobody_knows_ends_with_the_names_there_are(capsys):
    assert bench.main(["speed"], bench.measurements()) == 2
    assert "No measurement called speed. There are: " in capsys.readouterr().err


def test_a_measurement_that_falls_short_fails_the_run():
    assert bench.main([], {"fast": measurement(True), "slow": measurement(False)}) == 1


def test_only_what_is_named_is_measured():
    assert bench.main(["fast"], {"fast": measurement(True), "slow": measurement(False)}) == 0


def test_the_measured_farm_is_a_farm_year_of_the_promised_size():
    farm = farms.farm_year()
    assert (len(farm.groups), len(farm.rooms), farm.window.days) == (40, 20, 365)
    assert len(farm.parts) > 120


def test_the_same_seed_gives_the_same_farm():
    one, other = farms.farm_year(seed=3), farms.farm_year(seed=3)
    assert [part.birds.tolist() for part in one.parts] == [part.birds.tolist() for part in other.parts]
    assert one.rooms == other.rooms
    assert np.array_equal(one.groups[0].needs.area_m2, other.groups[0].needs.area_m2)


def test_medians_run_the_quick_way_more_often_than_the_slow():
    calls = []
    quick, slow = timing.medians(lambda: calls.append("quick"), lambda: calls.append("slow"), turns=3)
    assert (calls.count("quick"), calls.count("slow")) == (16, 3)
    assert min(quick, slow) >= 0


def test_the_command_says_what_it_measures_and_that_the_numbers_are_equal():
    run = subprocess.run(
        [sys.executable, "-m", "bench", "occupancy"], cwd=ROOT, capture_output=True, text=True, timeout=120
    )
    assert run.stdout.startswith("occupancy: A farm-year of 40 batches in 20 housings")
    assert "numbers      equal, to the last bit" in run.stdout
    assert run.returncode in (0, 1)  # the ratio itself depends on the machine and its other work
