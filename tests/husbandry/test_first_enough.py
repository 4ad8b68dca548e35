"""The search from a guess: the first number that is enough, wherever one looks first."""

from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.first_enough import first_enough


@given(st.integers(1, 400), st.integers(-5, 500), st.integers(0, 300))
def test_the_first_number_that_is_enough_is_found_from_any_guess(first, guess, most):
    assert first_enough(lambda n: n >= first, guess, most) == (first if first <= most else None)


@given(st.integers(1, 10_000), st.integers(-20, 20))
def test_a_near_guess_needs_few_looks_and_none_outside_the_span(first, off):
    looks = []

    def enough(n):
        looks.append(n)
        return n >= first

    assert first_enough(enough, first + off, 10_000) == first
    assert len(looks) <= 12
    assert all(1 <= n <= 10_000 for n in looks)
