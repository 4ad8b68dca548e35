"""Take everything with you; bring a farm here."""

from __future__ import annotations

from tempfile import SpooledTemporaryFile
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from farm.models import Farm, Login
from farm.models.history import Face
from farm.models.member import Role
from farm.queries.archives import rows
from farm.services import archives
from farm.web import clock
from farm.web.access import FARM_KEY, FarmRequest, farm_page, open_page
from farm.web.archives.forms import BringForm
from farm.web.archives.wording import behind, comes_along
from farm.web.mishaps import shown_in

#: Kept in memory while it is written; more goes to a file without a name. Octets; project default (judgement).
_IN_MEMORY = 8 * 1024 * 1024


@require_safe
@farm_page(Role.KEEPER, closed=True)
def archive(request: FarmRequest) -> HttpResponse:
    """Say what goes into the file and what stays behind."""
    counts = rows.count(request.visit.farm)
    context = {"along": comes_along(counts), "behind": behind()}
    return render(request, "web/archives/archive.html", context)


@never_cache
@require_POST
@farm_page(Role.KEEPER, closed=True)
def download(request: FarmRequest) -> Any:
    """Send the file."""
    out = SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115  # the response closes it when it is sent
    archives.take(request.visit.by, out)
    out.seek(0)
    name = slugify(request.visit.farm.name)[:60] or "farm"
    day = request.visit.by.today.isoformat()
    answer = FileResponse(
        out, as_attachment=True, filename=f"featherdays-{name}-{day}.zip", content_type="application/zip"
    )
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


@never_cache
@login_required
@require_http_methods(["GET", "HEAD", "POST"])
@open_page
def bring(request: HttpRequest) -> HttpResponse:
    """Make a farm of an uploaded file, for whoever is signed in."""
    form = BringForm(request.POST, request.FILES) if request.method == "POST" else BringForm()
    if form.is_bound and form.is_valid():
        farm: Farm | None = None
        with shown_in(form):
            farm = _brought(request, form)
        if farm is not None:
            request.session[FARM_KEY] = farm.pk
            messages.success(
                request,
                _("%(farm)s is here, with all its records. Invite the others again.") % {"farm": farm},
            )
            return redirect("members")
    context = {"form": form, "behind": behind(), "most": settings.ARCHIVE_MB}
    return render(request, "web/archives/bring.html", context)


def _brought(request: HttpRequest, form: BringForm) -> Farm:
    assert isinstance(request.user, Login)
    return archives.bring(
        form.cleaned_data["file"],
        login=request.user,
        as_member=form.cleaned_data["as_member"],
        now=clock.now(),
        face=Face.PAGE,
    )
