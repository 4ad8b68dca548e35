"""Batches and order lines for the allotment's tests: short builders, and strategies that draw tight little farms."""

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import strategies as st

from farm.planning.allotments import Hold, Supply, Wanted
from farm.trade.load import programmes
from farm.trade.programme import Knot

TODAY = date(2026, 6, 1)
BROWN = programmes()["chicken_layer_brown"]


def day(number):
    """Return the day so many days after today."""
    return TODAY + timedelta(days=number)


def losing(**shares):
    """Return a programme that has lost such shares by such days of age: losing(d0=0, d10=0.5)."""
    knots = tuple(Knot(int(name[1:]), share, "invented") for name, share in shares.items())
    return replace(BROWN, curves={**BROWN.curves, "lost_share": knots})


NO_LOSSES = losing(d0=0, d400=0)
#: A bird in five is dead by day 10, two in five by day 20: far worse than any real programme.
HEAVY = losing(d0=0, d10=0.2, d20=0.4, d400=0.4)


def surely(birds):
    return (*(0.0 for _ in range(birds)), 1.0)


def supply(key="a", birds=10, hatched=0, programme=NO_LOSSES, **fields):
    """Return live birds, by default hatched today, none of which ever die."""
    known = max(hatched, 0)
    return Supply(
        **{
            "key": key, "name": key, "type": "brown", "programme": programme, "hatch_day": day(hatched),
            "known_on": day(known), "law": surely(birds), "from_on": day(known), "live": hatched <= 0,
        } | fields
    )  # fmt: skip


def line(key="1", birds=10, ages=(0, 400), days=(0, 30), **fields):
    return Wanted(
        **{
            "key": key, "name": key, "type": "brown", "sex": "any", "age_from_days": ages[0],
            "age_to_days": ages[1], "birds": birds, "from_on": day(days[0]), "to_on": day(days[1]),
        } | fields
    )  # fmt: skip


@st.composite
def supplies(draw, key, most=6, programmes=(NO_LOSSES, HEAVY), sexes=True):
    hatched = draw(st.sampled_from((-10, -3, 0, 4)))
    shares = draw(st.lists(st.integers(0, 5), min_size=1, max_size=most + 1).filter(any))
    law = tuple(share / sum(shares) for share in shares)
    if hatched <= 0:
        law = surely(len(shares) - 1)
    holds = st.builds(
        Hold, st.integers(1, 2), st.sampled_from(("any", "any", "female") if sexes else ("any",))
    )
    return supply(
        key,
        hatched=hatched,
        programme=draw(st.sampled_from(programmes)),
        law=law,
        type=draw(st.sampled_from(("brown", "brown", "brown", "white"))),
        until=draw(st.sampled_from((None, None, day(12)))),
        female_share=draw(st.sampled_from((0.5, 1.0, 0.9, 0.0))) if sexes else 0.5,
        holds=tuple(draw(st.lists(holds, max_size=1))),
    )


@st.composite
def lines(draw, key, most=6, sexes=True):
    young, begins = draw(st.sampled_from((0, 0, 3, 10, 20))), draw(st.sampled_from((0, 0, 2, 10)))
    return line(
        key,
        draw(st.integers(0, most)),
        (young, young + draw(st.sampled_from((0, 10, 40)))),
        (begins, begins + draw(st.sampled_from((0, 5, 20)))),
        sex=draw(st.sampled_from(("any", "any", "any", "female", "male"))) if sexes else "any",
        type=draw(st.sampled_from(("brown", "brown", "brown", "white"))),
        priority=draw(st.integers(1, 3)),
    )


@st.composite
def farms(draw, most_supplies=3, most_lines=4, most=6, **fields):
    """Return (supplies, lines): few birds, many ways to give them, now and then losses no farm would bear."""
    stock = [draw(supplies(f"s{at}", most, **fields)) for at in range(draw(st.integers(1, most_supplies)))]
    sexes = {"sexes": fields["sexes"]} if "sexes" in fields else {}
    return stock, [draw(lines(f"l{at}", most, **sexes)) for at in range(draw(st.integers(1, most_lines)))]
