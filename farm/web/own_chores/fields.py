"""Fields of the form of an own chore that take several things, one a line."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from farm.web.forms import DayField


class LinesField(forms.CharField):
    """Texts, one a line; empty lines are left out."""

    def __init__(self, *, rows: int = 4, **kwargs: Any) -> None:
        super().__init__(required=False, widget=forms.Textarea({"rows": rows}), **kwargs)

    def clean(self, value: Any) -> list[Any]:
        """Return the lines."""
        return [line.strip() for line in super().clean(value).splitlines() if line.strip()]

    def prepare_value(self, value: Any) -> Any:
        """Show a stored list as lines; what was typed stays as it was typed."""
        return value if value is None or isinstance(value, str) else "\n".join(map(str, value))


class DaysField(LinesField):
    """Days, one a line, in the ways a day may be written."""

    def clean(self, value: Any) -> list[Any]:
        """Return the days. Raises ValidationError naming each line that is none."""
        found, wrong = [], []
        for line in super().clean(value):
            try:
                found.append(DayField().clean(line))
            except ValidationError:
                wrong.append(line)
        if wrong:
            text = _("Write each day as 2031-05-04, one a line. This is no day: %(lines)s")
            raise ValidationError(text % {"lines": ", ".join(wrong)})
        return found

    def prepare_value(self, value: Any) -> Any:
        """Show stored days in order."""
        return super().prepare_value(value if value is None or isinstance(value, str) else sorted(value))
