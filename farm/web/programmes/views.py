"""Reading programmes, and copying one under a new name."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from farm.models.member import Role
from farm.queries import programmes as read
from farm.services import programmes
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in
from farm.web.programmes import charts, tables
from farm.web.programmes.forms import CopyForm


@require_safe
@farm_page()
def programmes_page(request: FarmRequest) -> HttpResponse:
    """List the farm's own programmes and the built-in ones."""
    own, built_in = read.overview(request.visit.farm.pk)
    return render(request, "web/programmes/programmes.html", {"own": own, "built_in": built_in})


@require_safe
@farm_page()
def programme(request: FarmRequest, key: str) -> HttpResponse:
    """Show one programme as curves and tables, in its newest version or the one asked for."""
    number = request.GET.get("version", "")
    shown = read.shown(request.visit.farm.pk, key, int(number) if _small(number) else None)
    return _page(request, shown, CopyForm(farm=request.visit.farm, initial={"name": _copy_name(shown)}))


@require_http_methods(["POST"])
@farm_page(Role.KEEPER)
def copy(request: FarmRequest, key: str) -> HttpResponse:
    """Copy a programme under a new name and open the copy for editing."""
    shown = read.shown(request.visit.farm.pk, key)
    form = CopyForm(request.POST, farm=request.visit.farm)
    if form.is_valid():
        with shown_in(form):
            own = programmes.copy(request.visit.by, source=shown.key, name=form.cleaned_data["name"])
        if form.is_valid():
            return redirect("programme-edit", key=str(own.pk))
    return _page(request, shown, form)


def _page(request: FarmRequest, shown: read.Shown, form: CopyForm) -> HttpResponse:
    system, one = request.visit.farm.units, shown.programme
    context = {
        "shown": shown,
        "charts": charts.charts(one, system),
        "curves": tables.curve_tables(one, system),
        "feeds": tables.feed_table(one),
        "rules": tables.rule_table(one, system),
        "followers": read.followers(shown.row),
        "changes": _since_last(shown, system),
        "form": form,
    }
    return render(request, "web/programmes/programme.html", context)


def _since_last(shown: read.Shown, system: str) -> list[tables.Difference]:
    """Return what the shown version changed against the one before it."""
    if shown.version is None:
        return []
    older = next((one for one in shown.versions if one.number < shown.version.number), None)
    return tables.differences(read.of_version(older), shown.programme, system) if older else []


def _copy_name(shown: read.Shown) -> str:
    return _("Our %(name)s") % {"name": shown.row.name if shown.own and shown.row else shown.programme.name}


def _small(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 7
