"""The form of an order and its lines. Lines are numbered as the service names their fields: "lines-0-birds"."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.errors import BadInput
from farm.models import Farm, Order
from farm.models.order import OrderStatus, WantedSex
from farm.services.order_fields import MOST_LINES, NewLine
from farm.web.forms import DayField, FarmForm, VersionedForm
from farm.web.mishaps import shown_in
from farm.web.orders import fields

PREFIX = "lines"
_FOLDED_OF_LINE = ("sex", "breed")


class OrderForm(VersionedForm):
    """Who orders; the lines say what."""

    later = ("priority", "deposit", "ordered_on", "notes")

    customer = fields.customer()
    status = forms.ChoiceField(
        label=_("It is"),
        choices=[
            (OrderStatus.CONFIRMED, _("confirmed: birds are kept for it")),
            (OrderStatus.QUOTE, _("a quote: no birds are kept for it")),
        ],
        widget=forms.RadioSelect,
    )
    priority = fields.priority()
    deposit = fields.deposit()
    ordered_on = DayField(label=_("Ordered on"), required=False, help_text=_("Empty: today."))
    notes = fields.notes()

    @property
    def unfold(self) -> bool:
        """Say whether a folded field says something."""
        return any(field.value() for field in self.folded if field.name in ("deposit", "notes"))


class OrderEditForm(OrderForm):
    """What may be changed of an order besides its lines. Its status has buttons of its own."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["status"]
        self.fields["ordered_on"].required = True

    @staticmethod
    def stored(order: Order) -> dict[str, Any]:
        """Return an order's values for its form."""
        names = ("customer", "priority", "deposit", "ordered_on", "notes", "version")
        return {name: getattr(order, name) for name in names}


class LineForm(FarmForm):
    """One kind of birds: how many, how old, when. `line_id` is the line it changes."""

    birds = fields.birds()
    programme = fields.programme()
    age_from_days = fields.youngest()
    age_to_days = fields.oldest()
    from_on = DayField(label=_("From"), help_text=_("First day they may go."))
    to_on = DayField(label=_("To"), required=False, help_text=_("The last. Empty: that day only."))
    sex = fields.sex()
    breed = fields.words(_("Breed"), 60, help_text=_("Empty: any."))
    line_id = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose_programme(self, self.farm)

    def clean(self) -> dict[str, Any]:
        """Judge ages and days together; no last day is the first."""
        fields.check_ages(self)
        first, last = self.cleaned_data.get("from_on"), self.cleaned_data.get("to_on")
        if first and last and last < first:
            self.add_error("to_on", _("The last day must not be before the first."))
        if first and not last and "to_on" in self.cleaned_data:
            self.cleaned_data["to_on"] = first
        return self.cleaned_data

    @property
    def first(self) -> list[forms.BoundField]:
        """Return the fields of every line, and those that were refused."""
        shown = [self[name] for name in LineForm.base_fields if name != "line_id"]
        return [field for field in shown if field.name not in _FOLDED_OF_LINE or field.errors]

    @property
    def folded(self) -> list[forms.BoundField]:
        """Return the fields that can wait."""
        return [field for name in _FOLDED_OF_LINE if not (field := self[name]).errors]

    @property
    def unfold(self) -> bool:
        """Say whether a folded field asks for something."""
        return any(field.value() not in ("", None, WantedSex.ANY) for field in self.folded)

    @property
    def empty(self) -> bool:
        """Say whether nothing was typed into it."""
        return not self.has_changed()

    def line(self) -> NewLine:
        """Return what the services are given."""
        return NewLine(**{name: self.cleaned_data[name] for name in LineForm.base_fields})


class Lines(forms.BaseFormSet):
    """The lines of an order. One must be there; others that are left empty, or taken off, count for nothing."""

    def initial_form_count(self) -> int:
        """Return 0: known lines carry their number, so that any line but the first may be left empty."""
        return 0

    @property
    def used(self) -> list[LineForm]:
        """Return the lines that count, once the lines are valid."""
        return [form for form in self.forms if not form.empty and not self._should_delete_form(form)]  # type: ignore[attr-defined]

    @contextmanager
    def refused_in(self, form: OrderForm) -> Iterator[None]:
        """Put what a service refuses at the fields of the lines and of `form`."""
        rows = self.used
        with shown_in(form):
            try:
                yield
            except BadInput as refused:
                own = {name: texts for name, texts in refused.fields.items() if not _place(name, rows)}
                for name, texts in refused.fields.items():
                    if place := _place(name, rows):
                        for text in texts:
                            place[0].add_error(place[1], str(text))
                raise BadInput(own) from refused


def lines(
    farm: Farm,
    data: Mapping[str, Any] | None = None,
    initial: Sequence[Mapping[str, Any]] = ({},),
    blank: int = 0,
) -> Lines:
    """Return the lines of a form: as posted, or starting with `initial` and so many blank ones."""
    kind = forms.formset_factory(
        LineForm,
        formset=Lines,
        extra=len(initial) + blank - 1,
        min_num=1,
        max_num=MOST_LINES,
        absolute_max=MOST_LINES,
        can_delete=True,
    )
    found = kind(data, prefix=PREFIX, initial=list(initial), form_kwargs={"farm": farm})
    assert isinstance(found, Lines)
    return found


def typed_lines(data: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the lines of a posted form as they were typed, to show them again unjudged."""
    text = str(data.get(f"{PREFIX}-TOTAL_FORMS", ""))
    total = min(int(text), MOST_LINES) if text.isascii() and text.isdigit() and len(text) < 4 else 1
    names = (*LineForm.base_fields, "DELETE")
    return [
        {name: data[key] for name in names if (key := f"{PREFIX}-{row}-{name}") in data}
        for row in range(max(total, 1))
    ]


def stored_lines(order: Order) -> list[dict[str, Any]]:
    """Return an order's lines for its form."""
    same = ("birds", "age_from_days", "age_to_days", "from_on", "to_on", "sex", "breed")
    return [
        {name: getattr(line, name) for name in same}
        | {"programme": fields.choice(line.programme), "line_id": line.pk}
        for line in order.lines.select_related("programme")
    ]


def _place(name: str, rows: Sequence[LineForm]) -> tuple[LineForm, str | None] | None:
    """Return the line and its field that a refused field names, None for a field of the order."""
    kind, _dash, rest = name.partition("-")
    row, _dash, field = rest.partition("-")
    if kind != PREFIX or not row.isdigit() or int(row) >= len(rows):
        return None
    form = rows[int(row)]
    return form, field if field in form.fields else None
