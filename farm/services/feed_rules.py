"""What a line of a feed's ledger must keep to, said at the field it is about."""

from __future__ import annotations

import math
from datetime import date

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Feed
from farm.phrase import Quantity
from farm.queries import feed_store
from farm.services import day_rules
from farm.services.actor import Actor
from farm.wording import quantity

# Guards against a slip of the finger, all project default (judgement).
MOST_BAGS = 1000
LEAST_KG, MOST_KG = 0.001, 30_000.0
MOST_CENTS = 10_000_000


def check_bought(
    by: Actor,
    *,
    bags: int | None,
    kg: float | None,
    day: date,
    milled_on: date | None,
    price_cents: int | None,
) -> None:
    """Raise BadInput, all fields at once, for a purchase that cannot be right."""
    problems = _problems_of_amount(bags, kg)
    if day > by.today:
        problems["day"] = [_("This day is still to come; record it when the feed is here.")]
    elif typo := day_rules.typo(day, by.today):
        problems["day"] = typo
    if milled_on is not None and milled_on > by.today:
        problems["milled_on"] = [_("This day is still to come. Look at the date on the bag again.")]
    elif milled_on is not None and milled_on > day:
        problems["milled_on"] = [_("It cannot be milled after it was bought.")]
    elif milled_on is not None and (typo := day_rules.typo(milled_on, by.today)):
        problems["milled_on"] = typo
    if price_cents is not None and not 0 <= price_cents <= MOST_CENTS:
        text = _("Enter a price from 0 to %(most)d, for all of it; leave it empty if you don't know.")
        problems["price_cents"] = [text % {"most": MOST_CENTS // 100}]
    if problems:
        raise BadInput(problems)


def check_day(by: Actor, day: date) -> None:
    """Raise BadInput at day for one that is still to come or long past."""
    if day > by.today:
        raise BadInput.at("day", _("This day is still to come; record it when it has happened."))
    if typo := day_rules.typo(day, by.today):
        raise BadInput({"day": typo})


def check_kg(kg: float, *, least: float) -> None:
    """Raise BadInput at kg for an amount that nobody has in a store."""
    if not (math.isfinite(kg) and least <= kg <= MOST_KG):
        raise BadInput.at("kg", _range(least))


def check_store(feed: Feed, day: date, grams: int, *, field: str) -> None:
    """Raise BadInput at `field` when with so many grams more or less there would be less than none on any day.

    field "": a line is taken back, so that no amount was typed.
    """
    entries = list(feed.entries.all())
    below = feed_store.first_day_below_zero(entries, (day, grams))
    if below is None:
        return
    if field and below[0] == day and grams < 0:
        raise BadInput.at(field, only(feed, feed_store.grams(entries, day)))
    text = _("Then there would be %(lacking)s less than none on %(day)s. Take back what came later first.")
    lacking = quantity(Quantity(-below[1] / feed_store.GRAMS, "kg"), feed.farm.units)
    raise BadInput.at(field, text % {"lacking": lacking, "day": day_rules.shown(below[0])})


def there(feed: Feed, day: date) -> int:
    """Return the unopened grams at the end of a day."""
    return feed_store.grams(list(feed.entries.all()), day)


def only(feed: Feed, grams: int) -> str:
    """Return that there is no more than so many grams, and what to do."""
    if grams <= 0:
        text = _(
            "There is no unopened %(feed)s in the store that day. Record what was bought, or count it anew."
        )
        return text % {"feed": feed}
    amount = quantity(Quantity(grams / feed_store.GRAMS, "kg"), feed.farm.units)
    text = _("There is only %(amount)s of %(feed)s that day. Enter no more, or count it anew first.")
    return text % {"amount": amount, "feed": feed}


def _problems_of_amount(bags: int | None, kg: float | None) -> dict[str, list[object]]:
    if (bags is None) is (kg is None):
        return {"bags": [_("Enter the bags, or the weight of loose feed: one of the two.")]}
    if bags is not None and not 1 <= bags <= MOST_BAGS:
        return {"bags": [_("Enter a number from 1 to %(most)d.") % {"most": MOST_BAGS}]}
    if kg is not None and not (math.isfinite(kg) and LEAST_KG <= kg <= MOST_KG):
        return {"kg": [_range(LEAST_KG)]}
    return {}


def _range(least: float) -> str:
    return _("Enter a weight from %(low)s to %(high)s kg.") % {"low": f"{least:g}", "high": f"{MOST_KG:g}"}
