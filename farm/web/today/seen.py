"""What the birds in a housing do, said with one tap; the advice comes right back."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farm.models import Housing
from farm.models.observation import ObservationKind
from farm.planning.window import Window
from farm.queries import lookup, occupancy
from farm.services import observations
from farm.trade import behaviours, cautions
from farm.web.access import FarmRequest, farm_page
from farm.web.help.pieces import cited
from farm.web.housing import rooms


@require_POST
@farm_page()
def see(request: FarmRequest, pk: int) -> HttpResponse:
    """Record a behaviour seen in a housing and answer with what to do about it.

    It is recorded of the batch too when only one lives there.
    """
    visit = request.visit
    housing = lookup.get(Housing, farm_id=visit.farm.pk, pk=pk)
    sheet = occupancy.for_farm(visit.farm, Window(visit.by.today, 1), visit.by.today)
    lodgers = rooms.on(sheet, str(housing.pk), visit.by.today).lodgers
    seen = observations.add(
        visit.by,
        kind=ObservationKind.BEHAVIOUR,
        word=request.POST.get("word", ""),
        housing_id=housing.pk,
        batch_id=lodgers[0].batch.pk if len(lodgers) == 1 else None,
    )
    behaviour = behaviours.behaviours()[seen.word]
    if request.htmx:  # type: ignore[attr-defined]
        context = {
            "behaviour": behaviour,
            "cited": cited(behaviour.source),
            "caution": cautions.cautions()["heat_lamp"] if behaviour.verdict in ("cold", "hot") else None,
        }
        return render(request, "web/today/advice.html", context)
    messages.success(
        request,
        _("%(housing)s: %(seen)s. %(advice)s.")
        % {"housing": housing, "seen": _(behaviour.seen), "advice": _(behaviour.advice)},
    )
    return HttpResponseRedirect(f"{reverse('today')}#housing-{housing.pk}")
