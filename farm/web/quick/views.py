"""Quick entry: plain sentences are recorded at once, doubtful ones shown first."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm import wording
from farm.errors import BadInput, NotAllowed
from farm.models import Batch, Farm, Housing
from farm.models.member import Role
from farm.queries import lookup
from farm.web.access import FarmRequest, Visit, farm_page
from farm.web.quick import grammar, record, undoing
from farm.web.quick.forms import QuickForm
from farm.web.quick.names import Name
from farm.web.quick.parse import parse
from farm.web.quick.resolve import Ask, Question, Target, resolve
from farm.web.quick.sentence import NotUnderstood, Sentence

_ASKS: tuple[Ask, ...] = ("batch", "from", "place")


@dataclass(frozen=True, slots=True)
class Understood:
    """A sentence with its target, or with the question that decides it; both None when a message says why not."""

    sentence: Sentence | None
    found: Target | Question | None


@require_http_methods(["GET", "POST"])
@farm_page()
def quick(request: FarmRequest) -> HttpResponse:
    """Record one sentence. What is not plain is shown, or asked back, before anything is written."""
    visit = request.visit
    if request.method == "GET":
        form = QuickForm.opened(visit.farm, text=request.GET.get("text", "")[:300])
        return _page(request, form)
    form = QuickForm(request.POST, farm=visit.farm, auto_id="quick-%s")
    if not form.is_valid():
        return _page(request, form)
    got = _understand(visit, form, {ask: request.POST.get(ask, "") for ask in _ASKS})
    if got.sentence is None or got.found is None:
        return _page(request, form)
    if isinstance(got.found, Question):
        form.asked(got.found)
        form.errors.clear()
        return _page(request, form, asking=True, answers=_answers(request))
    told = record.said(got.sentence, got.found, visit.farm, visit.by.today)
    if "sure" not in request.POST and _doubtful(visit, got.sentence, got.found):
        return _page(request, form, told=told, answers=_answers(request))
    return _write(request, form, got.sentence, got.found, told)


def _understand(visit: Visit, form: QuickForm, answers: dict[Ask, str]) -> Understood:
    """Read the sentence and find what it is about; why it cannot be found is put on the form."""
    text = form.cleaned_data["text"]
    read = parse(text, names(visit.farm), visit.by.today, visit.farm.units)
    if isinstance(read, NotUnderstood):
        form.add_error("text", wording.say(read.reason))
        return Understood(None, None)
    here = form.cleaned_data["back"]
    if read.batch is None and here.isdigit() and not answers["batch"]:
        # On a batch's page a sentence is about that batch, unless it names another.
        read = replace(read, batch=str(lookup.get(Batch, farm_id=visit.farm.pk, pk=here).pk))
    try:
        return Understood(read, resolve(visit.farm, read, answers))
    except BadInput as refused:
        form.add_error("text", str(refused))
        return Understood(read, None)


def _doubtful(visit: Visit, sentence: Sentence, target: Target) -> bool:
    """Say whether it is shown before it is recorded: something was taken for granted, or it looks like sent twice."""
    return sentence.assumed or (sentence.verb == "move" and record.moved_lately(visit.by, target))


def _write(
    request: FarmRequest, form: QuickForm, sentence: Sentence, target: Target, told: str
) -> HttpResponse:
    try:
        fresh = record.record(
            request.visit.by, sentence, target, request.visit.farm, form.cleaned_data["key"]
        )
    except BadInput as refused:
        for texts in refused.fields.values():
            for text in texts:
                form.add_error("text", str(text))
        return _page(request, form, refused=target)
    except NotAllowed as refused:
        form.add_error("text", str(refused))
        return _page(request, form)
    if not fresh:
        messages.info(request, _("This was recorded already: %(what)s.") % {"what": told})
    else:
        messages.success(request, undoing.recorded(request.visit, told))
        if record.advice(sentence):
            messages.success(request, f"{record.advice(sentence)}.")
    return HttpResponseRedirect(_back(form.cleaned_data["back"]))


def _page(
    request: FarmRequest,
    form: QuickForm,
    *,
    asking: bool = False,
    told: str = "",
    answers: dict[str, str] | None = None,
    refused: Target | None = None,
) -> HttpResponse:
    child = request.visit.member.role == Role.CHILD
    context = {
        "quick": form,
        "asking": asking,
        "told": told,
        "answers": answers or {},
        "refused": refused,
        "examples": grammar.examples(request.visit.farm, child),
        "back_to": _back(str(form["back"].value() or "")),
    }
    return render(request, "web/quick/quick.html", context)


def _answers(request: FarmRequest) -> dict[str, str]:
    return {ask: request.POST[ask] for ask in _ASKS if request.POST.get(ask)}


def _back(back: str) -> str:
    return reverse("batch", args=[int(back)]) if back.isdigit() and len(back) < 18 else reverse("today")


def names(farm: Farm) -> list[Name]:
    """Return what the farm calls its housing and batches."""
    places = Housing.objects.filter(farm=farm).values_list("pk", "name")
    birds = Batch.objects.filter(farm=farm).values_list("pk", "name")
    return [
        *(Name(str(pk), name, True) for pk, name in places),
        *(Name(str(pk), name, False) for pk, name in birds),
    ]
