"""How good a plan is shown to be, in one sentence a keeper can weigh."""

from __future__ import annotations

import math

from farm.phrase import N_, Phrase
from farm.planning.solution import Solution
from farm.planning.weights import Weights

#: Within this share of the best possible it is worth saying; further off, the proof is weak rather than the plan bad.
TELLING = 0.25


def verdict(solution: Solution) -> Phrase:
    """Return what is proved: nothing better exists, it is near the best possible, or nothing better was found.

    A gap is told in moves, because the bill's points mean nothing to anybody: one move is `Weights.moves` points.
    """
    gap = solution.cost - solution.bound
    if gap <= 0:
        return Phrase(N_("No plan can do better."))
    if not solution.iterations:
        return Phrase(N_("It was checked and works. Whether there is a better one was not looked for yet."))
    moves = math.ceil(gap / Weights().moves)
    if solution.gap <= TELLING:
        return Phrase(
            N_("Within %(n)d move of the best possible."),
            {"n": moves},
            N_("Within %(n)d moves of the best possible."),
            "n",
        )
    return Phrase(
        N_("We found nothing better in %(n)d try; that nothing is better is not proved."),
        {"n": solution.iterations},
        N_("We found nothing better in %(n)d tries; that nothing is better is not proved."),
        "n",
    )
