"""A draft's cost: worked out stay by stay, and taken as known when a step is undone, it is the same."""

import numpy as np
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from farm.planning import greedy
from farm.planning.atlas import Atlas
from farm.planning.draft import Draft
from farm.planning.ground import Ground
from tests.planning.plan_strategies import problems

ANY = settings(
    max_examples=30,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def begun(problem):
    """A draft with every batch placed."""
    draft = Draft(Atlas(Ground(problem)))
    greedy.begin(draft)
    return draft


def arrays(draft):
    """All that an insertion reads of the farm's state."""
    state = draft.state
    return [
        *state.free,
        *state.room,
        state.slack,
        state.crowd,
        state.low,
        state.high,
        state.entry,
        state.exit,
    ]


@ANY
@given(problems(most_batches=5, most_housings=5, days=84))
def test_the_price_an_insertion_finds_is_what_its_stays_cost_one_by_one(problem):
    draft, plain = begun(problem), Draft(Atlas(Ground(problem)))
    for batch in greedy.order(plain):
        plain.put(batch, draft.placed[batch])
    assert plain.cost == draft.cost


@ANY
@given(problems(most_batches=5, most_housings=5, days=84), st.randoms(use_true_random=False))
def test_a_step_undone_backwards_at_known_prices_leaves_no_trace(problem, chance):
    draft = begun(problem)
    cost, before = draft.cost, [each.copy() for each in arrays(draft)]
    out = chance.sample(range(len(draft.placed)), k=chance.randint(1, len(draft.placed)))
    old, took, added = {}, {}, {}
    for batch in out:
        at = draft.cost
        old[batch] = draft.remove(batch)
        took[batch] = at - draft.cost
    for batch in sorted(out):
        at = draft.cost
        draft.insert(batch)
        added[batch] = draft.cost - at
    for batch in sorted(out, reverse=True):
        draft.remove(batch, added[batch])
    for batch in reversed(out):
        draft.put(batch, old[batch], took[batch])
    assert draft.cost == cost
    assert all(np.array_equal(one, other) for one, other in zip(arrays(draft), before, strict=True))
