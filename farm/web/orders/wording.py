"""How sure an order is, in words: never certainty, and always with the numbers behind them."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.models import OrderLine
from farm.models.order import WantedSex
from farm.planning.allotments import LineOdds
from farm.web.orders import ages

#: Chances are said in the words of the IPCC's guidance note on uncertainty (2010): from memory.
_VERY, _LIKELY, _EVEN, _UNLIKELY = 0.90, 0.66, 0.33, 0.10


def likely(chance: float) -> str:
    """Return a chance in one word or two."""
    if chance > _VERY:
        return _("very likely")
    if chance > _LIKELY:
        return _("likely")
    if chance >= _EVEN:
        return _("about as likely as not")
    return _("unlikely") if chance >= _UNLIKELY else _("very unlikely")


def percent(chance: float) -> str:
    """Return a chance in whole percent, none and all of them never quite."""
    whole = round(100 * chance)
    if whole == 100:
        return _("more than 99\u00a0%")
    return _("%(n)d\u00a0%%") % {"n": whole} if whole else _("less than 1\u00a0%")


def stands(odds: LineOdds) -> str:
    """Return how a line stands: "ordered 40, expected 39; all 40 with 91 %"."""
    return _("ordered %(ordered)d, expected %(expected)d; all %(ordered)d with %(percent)s") % {
        "ordered": odds.ordered,
        "expected": round(odds.expected),
        "percent": percent(odds.chance),
    }


def band(odds: LineOdds) -> str:
    """Return between what numbers it lies: "8 times in 10 between 36 and 40", "" where it is one number."""
    if odds.low == odds.high:
        return ""
    return _("8 times in 10 between %(low)d and %(high)d") % {"low": odds.low, "high": odds.high}


def wants(line: OrderLine) -> str:
    """Return what a line asks for besides type and days: "40 females, 8 weeks old, Sussex"."""
    texts = {
        WantedSex.ANY.value: ngettext("%(n)d bird", "%(n)d birds", line.birds),
        WantedSex.FEMALE.value: ngettext("%(n)d female", "%(n)d females", line.birds),
        WantedSex.MALE.value: ngettext("%(n)d male", "%(n)d males", line.birds),
    }
    said = [texts[line.sex] % {"n": line.birds}, ages.span(line.age_from_days, line.age_to_days)]
    return ", ".join([*said, *([line.breed] if line.breed else [])])
