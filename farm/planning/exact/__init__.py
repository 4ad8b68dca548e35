"""Proofs by a general solver: the only folder that knows HiGHS.

    proof = exact.prove(problem, warm=solution, seconds=60)

For small farms on request, and for the tests as an oracle. `farm.planning.seating` proves single days through it.
"""

from farm.planning.exact.proof import Proof, Proving, prove

__all__ = ["Proof", "Proving", "prove"]
