"""The import form: which table, its text, or a file with it."""

from __future__ import annotations

import hashlib
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from farm.web.forms import FarmForm
from farm.web.imports.decoding import MOST_BYTES, clean, text_of

WHATS = (("housing", _("Housing")), ("batches", _("Batches, with their birds and first housing")))
_TOO_MUCH = _("This is more than 1 MB. Import it in parts.")


class ImportForm(FarmForm):
    """A pasted or uploaded table. `seen` is the digest of the text that was looked at before saving."""

    what = forms.ChoiceField(label=_("What is in the table?"), choices=WHATS, widget=forms.RadioSelect)
    file = forms.FileField(
        label=_("A file (.csv)"),
        required=False,
        allow_empty_file=True,
        help_text=_(
            "From a spreadsheet: “Save as” or “Download as” CSV. Commas, semicolons and tabs all do."
        ),
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,text/csv,text/plain"}),
    )
    text = forms.CharField(
        label=_("… or paste the table"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false", "autocomplete": "off"}),
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    def clean_file(self) -> str | None:
        """Return the file's text. Raises ValidationError when it is too long."""
        file = self.cleaned_data.get("file")
        if not file:
            return None
        if file.size > MOST_BYTES:
            raise ValidationError(_TOO_MUCH)
        return text_of(file.read(MOST_BYTES + 1))

    def clean_text(self) -> str:
        """Return the pasted text. Raises ValidationError when it is too long."""
        text = clean(self.cleaned_data.get("text") or "")
        if len(text.encode()) > MOST_BYTES:
            raise ValidationError(_TOO_MUCH)
        return text

    def clean(self) -> dict[str, Any]:
        """Let a file go before what is in the box, and show its text there, so that it can be mended in place."""
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("file") is not None:
            cleaned["text"] = cleaned["file"]
            self._say("text", cleaned["text"])
        elif not self.errors and not cleaned.get("text", "").strip():
            self.add_error("text", _("Paste a table or choose a file."))
        return cleaned

    @property
    def digest(self) -> str:
        """Return what identifies the table that was read."""
        read = f"{self.cleaned_data['what']}\n{self.cleaned_data['text']}"
        return hashlib.sha256(read.encode()).hexdigest()

    def look_again(self) -> None:
        """Remember the table as looked at, for the form that is sent back."""
        self._say("seen", self.digest)

    def _say(self, name: str, text: str) -> None:
        """Change what a box shows when the form is sent back."""
        data = dict(self.data.items())
        self.data = data | {name: text}
