"""The form that brings a farm from its archive."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _


class BringForm(forms.Form):
    """The archive, and which of its keepers one is."""

    required_css_class = "required"
    error_css_class = "refused"
    file = forms.FileField(
        label=_("The farm's file (.zip)"),
        widget=forms.FileInput(attrs={"accept": ".zip,application/zip"}),
        error_messages={
            "required": _("Choose the .zip that “Take everything with you” saved."),
            "empty": _("This file is empty. Choose the .zip as it was saved."),
        },
    )
    as_member = forms.CharField(
        label=_("Your name on that farm"),
        help_text=_("As its keepers are called there. Left empty, you become the first of them."),
        required=False,
        max_length=80,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        self.fields["file"].help_text = _("As it was saved, not unpacked; up to %(most)d MB.") % {
            "most": settings.ARCHIVE_MB
        }

    def clean_file(self) -> UploadedFile:
        """Return the upload. Raises ValidationError when it is larger than this server takes."""
        file: UploadedFile = self.cleaned_data["file"]
        if (file.size or 0) > settings.ARCHIVE_MB * 1024 * 1024:
            text = _("This file is larger than the %(most)d MB this server takes. Ask whoever runs it.")
            raise ValidationError(text % {"most": settings.ARCHIVE_MB})
        return file
