"""The import page: paste, look through, save."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from farm.errors import BadInput
from farm.models import Housing
from farm.models.member import Role
from farm.queries.outlook import Trial
from farm.web.access import FarmRequest, farm_page
from farm.web.imports import tables
from farm.web.imports.forms import ImportForm
from farm.web.imports.kinds import Kind
from farm.web.imports.preview import Preview, preview

_NEXT = {"housing": "housing", "batches": "board"}


@dataclass(slots=True)
class _Looked:
    """A table that was looked through: its rows, and what it would do to the plan when all of them are right."""

    kind: Kind
    preview: Preview
    trial: Trial | None = None


@require_http_methods(["GET", "HEAD", "POST"])
@farm_page(Role.KEEPER)
def import_page(request: FarmRequest) -> HttpResponse:
    """Show the form; look a table through; save it when every row is right."""
    farm = request.visit.farm
    if request.method != "POST":
        first = "batches" if Housing.objects.filter(farm=farm).exists() else "housing"
        form = ImportForm(farm=farm, initial={"what": request.GET.get("what", first)})
        return _page(request, form, None)
    form = ImportForm(request.POST, request.FILES, farm=farm)
    if not form.is_valid():
        return _page(request, form, None)
    kind = tables.kind(form.cleaned_data["what"], farm)
    looked = _Looked(kind, preview(kind, form.cleaned_data["text"], farm.units))
    if "save" in request.POST and looked.preview.right:
        if form.cleaned_data["seen"] != form.digest:
            form.add_error(
                None, _("The table changed since you looked it through. Look once more, then save.")
            )
        elif _save(request, looked):
            return redirect(_NEXT[kind.key])
    _try(request, looked)
    form.look_again()
    return _page(request, form, looked)


def _save(request: FarmRequest, looked: _Looked) -> bool:
    kind, rows = looked.kind, looked.preview.rows
    try:
        made = kind.save(request.visit.by, [kind.row(row.values) for row in rows])
    except BadInput as refused:
        looked.preview.refused(refused.fields, kind.places, rows)
        return False
    count = len(made)
    messages.success(
        request, ngettext("%(count)d row saved.", "%(count)d rows saved.", count) % {"count": count}
    )
    return True


def _try(request: FarmRequest, looked: _Looked) -> None:
    """Try the rows that read well, so that every complaint comes at once; keep what they do when all of them did."""
    kind = looked.kind
    rows = [row for row in looked.preview.rows if row.right]
    if looked.preview.problems or not rows:
        return
    all_right = looked.preview.right
    try:
        trial = kind.try_out(request.visit.by, [kind.row(row.values) for row in rows])
    except BadInput as refused:
        looked.preview.refused(refused.fields, kind.places, rows)
    else:
        looked.trial = trial if all_right else None


def _page(request: FarmRequest, form: ImportForm, looked: _Looked | None) -> HttpResponse:
    context = {
        "form": form,
        "looked": looked,
        "shown_rows": looked.preview.shown_rows() if looked else [],
        "tables": [tables.kind(key, request.visit.farm) for key in tables.TABLES],
    }
    return render(request, "web/imports/import.html", context)


@require_safe
@farm_page(Role.KEEPER)
def example(request: FarmRequest, what: str) -> HttpResponse:
    """Send a file with invented rows."""
    _known(what)
    return _csv(
        tables.example(what, request.visit.farm, request.visit.by.today), f"featherdays-{what}-example.csv"
    )


@require_safe
@farm_page(Role.KEEPER)
def present(request: FarmRequest, what: str) -> HttpResponse:
    """Send what the farm has now."""
    _known(what)
    return _csv(tables.present(what, request.visit.farm, request.visit.by.today), f"featherdays-{what}.csv")


def _known(what: str) -> None:
    if what not in tables.TABLES:
        raise Http404


def _csv(text: str, name: str) -> HttpResponse:
    # The mark tells spreadsheets that it is UTF-8; without it they read m² as two letters.
    answer = HttpResponse("\ufeff" + text, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
