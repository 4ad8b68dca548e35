"""What a plan's faults cost: whole numbers, so that two plans compare the same on every machine.

1000 is one move. The prices lie so far apart that, in effect, the first line of a bill that differs decides: room
before wishes before moves before the rest. They are a project default (judgement).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Weights:
    """The price of one of each: see `score.TERMS` for what each counts.

    room, nowhere: a dm² of floor missing for a day (1 m² for a day weighs 10 moves). feeder, drinker: a mm of edge
    missing for a day. cold: a bird that needs heat and has none, a day. pins: a day of a pin not kept. misplaced: a
    day in a housing the batch's own rules forbid. moves: one. splits: one part more. mixing: a day with one batch
    more in a shared housing. arrival: a day off the arrival asked for. off_days: a move off the welcome weekdays.
    change: a day elsewhere than adopted. spare: a day with a housing more than 90 % full.
    """

    room: int = 100
    nowhere: int = 200
    feeder: int = 10
    drinker: int = 20
    cold: int = 500
    pins: int = 5000
    misplaced: int = 2000
    moves: int = 1000
    splits: int = 1500
    mixing: int = 3
    arrival: int = 20
    off_days: int = 50
    change: int = 5
    spare: int = 1
