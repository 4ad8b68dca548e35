"""Messages that did not reach people, for keepers."""

from __future__ import annotations

from django.contrib import messages as said
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from farm.models.member import Role
from farm.queries import reminders as read
from farm.services.reminders import dead
from farm.web.access import FarmRequest, farm_page


@require_safe
@farm_page(Role.KEEPER)
def messages(request: FarmRequest) -> HttpResponse:
    """List what did not arrive, whom it was for and why."""
    rows = read.undelivered(request.visit.farm.pk)
    return render(request, "web/reminders/messages.html", {"rows": rows})


@require_POST
@farm_page(Role.KEEPER)
def again(request: FarmRequest, pk: int) -> HttpResponse:
    """Have one tried again."""
    dead.try_again(request.visit.by, delivery_id=pk)
    said.success(request, _("It is being tried again."))
    return redirect("messages")


@require_POST
@farm_page(Role.KEEPER)
def drop(request: FarmRequest, pk: int) -> HttpResponse:
    """Take one off the list."""
    dead.give_up(request.visit.by, delivery_id=pk)
    said.success(request, _("Taken off the list."))
    return redirect("messages")
