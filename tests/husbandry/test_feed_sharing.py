"""Where several feeds will do, the oldest goes first, and nothing is eaten twice or left out."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.feeding.sharing import Serving, shared

KEYS = ("chicks", "ducks")
WANTED = st.fixed_dictionaries(
    {key: st.lists(st.floats(0, 9), min_size=6, max_size=6).map(np.array) for key in KEYS}
)
SERVINGS = st.lists(
    st.tuples(st.frozensets(st.sampled_from(KEYS)), st.floats(0, 60)), min_size=1, max_size=4
).map(lambda rows: [Serving(feed, serves, kg) for feed, (serves, kg) in enumerate(rows)])


def bought_for(servings):
    return {key: one.feed for one in servings for key in one.serves}


@given(WANTED, SERVINGS)
def test_all_that_is_wanted_is_eaten_of_feeds_that_serve_it(wanted, servings):
    found, bought = shared(wanted, servings, bought_for(servings)), bought_for(servings)

    for key in KEYS:
        eaten = sum((parts.get(key, 0) for parts in found.values()), np.zeros(6))
        assert np.allclose(eaten, wanted[key] if key in bought else 0)
    for feed, parts in found.items():
        assert set(parts) <= servings[feed].serves


@given(WANTED, SERVINGS)
def test_only_a_feed_that_is_bought_is_eaten_beyond_its_store(wanted, servings):
    bought = bought_for(servings)
    for feed, parts in shared(wanted, servings, bought).items():
        if feed not in bought.values():
            assert sum(kg.sum() for kg in parts.values()) <= servings[feed].kg + 1e-9


def test_the_first_store_is_eaten_up_before_the_next_is_begun():
    old, new = Serving(1, frozenset(KEYS), 5.0), Serving(2, frozenset(KEYS), 50.0)

    found = shared({"chicks": np.full(4, 2.0)}, [old, new], {"chicks": 2})

    assert found[1]["chicks"].tolist() == [2, 2, 1, 0]
    assert found[2]["chicks"].tolist() == [0, 0, 1, 2]
