"""What to buy in the weeks ahead, to print or to send."""

from __future__ import annotations

from urllib.parse import quote

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from farm import wording
from farm.models import Farm
from farm.queries import feed, feed_shopping
from farm.queries.feed_shopping import Buying
from farm.web.access import FarmRequest, farm_page

WEEKS = (2, 4, 8)
_USUAL = 4
_WEEK = 7


@require_safe
@farm_page()
def page(request: FarmRequest) -> HttpResponse:
    """Show the shopping list of two, four or eight weeks, `?weeks=8`."""
    visit = request.visit
    asked = request.GET.get("weeks", "")
    weeks = int(asked) if asked in {str(one) for one in WEEKS} else _USUAL
    sheet = feed.for_farm(visit.farm, visit.by.today, weeks * _WEEK)
    found = feed_shopping.listed(sheet, weeks * _WEEK)
    context = {
        "weeks": weeks,
        "choices": WEEKS,
        "found": found,
        "missing": sheet.missing,
        "today": visit.by.today,
        "mailto": letter(visit.farm, found, weeks) if found else "",
        "any_feed": bool(sheet.rows),
    }
    return render(request, "web/feed/shopping.html", context)


def letter(farm: Farm, found: list[Buying], weeks: int) -> str:
    """Return the address of a letter that holds the list: whoever sends it chooses to whom."""
    subject = ngettext("Feed for %(weeks)d week", "Feed for %(weeks)d weeks", weeks) % {"weeks": weeks}
    lines = [
        _("%(feed)s: %(what)s (order by %(day)s)")
        % {
            "feed": each.row.feed.name,
            "what": wording.say(each.purchase.words, farm.units),
            "day": wording.day(each.order.order_on),
        }
        for each in found
    ]
    return f"mailto:?subject={quote(f'{farm.name}: {subject}')}&body={quote(chr(13) + chr(10)).join(map(quote, lines))}"
