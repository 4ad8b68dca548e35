"""What holds for the head counts of any ledger and any stays."""

from datetime import timedelta

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from test_heads import DAYS, on

from farm.planning.heads import Line, Stay, alive, by_stay, shares

ROOMS = st.sampled_from(["brooder", "pen", "paddock"])
LEDGERS = st.lists(
    st.builds(Line, st.integers(-8, 12).map(on), st.integers(-15, 40), st.one_of(st.none(), ROOMS)),
    max_size=8,
)


@st.composite
def stays(draw):
    found = []
    for number in range(draw(st.integers(0, 5))):
        start = on(draw(st.integers(-10, 11)))
        length = draw(st.one_of(st.none(), st.integers(1, 12)))
        end = None if length is None else start + timedelta(days=length)
        found.append(Stay(f"stay-{number}", draw(ROOMS), start, end, draw(st.integers(1, 50))))
    return found


@given(LEDGERS, stays())
def test_every_bird_alive_is_in_one_stay_or_unhoused(ledger, homes):
    held, unhoused = by_stay(ledger, homes, DAYS)
    total = sum(held.values(), unhoused)
    assert total.tolist() == alive(ledger, DAYS).tolist()


@given(LEDGERS, stays())
def test_no_count_is_ever_negative(ledger, homes):
    held, unhoused = by_stay(ledger, homes, DAYS)
    assert all((birds >= 0).all() for birds in (*held.values(), unhoused))


@given(LEDGERS, stays())
def test_no_stay_holds_a_bird_outside_its_days(ledger, homes):
    held, _ = by_stay(ledger, homes, DAYS)
    for home in homes:
        inside = np.zeros(DAYS.days, dtype=bool)
        columns = DAYS.clip(home.start, home.end)
        if columns:
            inside[columns] = True
        assert not held[home.key][~inside].any()


@given(LEDGERS, stays(), st.randoms())
def test_the_order_of_lines_and_stays_does_not_matter(ledger, homes, random):
    before = by_stay(ledger, homes, DAYS)
    mixed_lines, mixed_homes = random.sample(ledger, len(ledger)), random.sample(homes, len(homes))
    after = by_stay(mixed_lines, mixed_homes, DAYS)
    assert {key: birds.tolist() for key, birds in after[0].items()} == {
        key: birds.tolist() for key, birds in before[0].items()
    }
    assert after[1].tolist() == before[1].tolist()


@given(st.dictionaries(st.text(max_size=3), st.integers(0, 60), min_size=1, max_size=6), st.data())
def test_shares_add_up_and_never_exceed_a_weight(weights, data):
    total = data.draw(st.integers(0, sum(weights.values())))
    parts = shares(total, weights)
    assert sum(parts.values()) == total
    assert all(parts[key] <= weights[key] for key in weights)


@given(st.dictionaries(st.text(max_size=3), st.integers(1, 60), min_size=1, max_size=6), st.data())
def test_shares_are_within_one_bird_of_exact_proportion(weights, data):
    total = data.draw(st.integers(0, sum(weights.values())))
    whole = sum(weights.values())
    for key, part in shares(total, weights).items():
        assert abs(part - total * weights[key] / whole) < 1
