from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from farm.web import plumage

INK = "#2b2622"


def luminance(colour: str) -> float:
    """Relative luminance after WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@given(st.integers(0, 400), st.integers(21, 56))
def test_ink_on_every_colour_of_the_ramp_is_legible(age: int, feathered: int):
    assert contrast(INK, plumage.colour(age, feathered)) >= 4.5


@given(st.integers(0, 400), st.integers(21, 56))
def test_an_older_bird_is_never_lighter(age: int, feathered: int):
    assert luminance(plumage.colour(age + 1, feathered)) <= luminance(plumage.colour(age, feathered)) + 1e-9


def test_the_ramp_runs_from_down_yellow_to_russet():
    assert plumage.colour(0, 42) == "#f6e08a"
    assert plumage.colour(42, 42) == plumage.colour(300, 42) == "#c97e58"


def test_before_hatch_a_batch_has_the_colour_of_its_first_day():
    assert plumage.colour(-10, 42) == plumage.colour(0, 42)


def test_each_stage_has_a_pattern_of_its_own():
    assert [plumage.stage(age, 40) for age in (0, 13, 14, 27, 28, 39, 40)] == [
        "down",
        "down",
        "pinning",
        "pinning",
        "feathering",
        "feathering",
        "feathered",
    ]
