"""What every record of a farm has."""

from __future__ import annotations

from django.db import models


class Owned(models.Model):
    """A record that belongs to one farm; database triggers keep its links inside that farm."""

    farm = models.ForeignKey("farm.Farm", on_delete=models.CASCADE, related_name="+", editable=False)

    class Meta:
        abstract = True


class Versioned(Owned):
    """A record edited through forms: `version` rises with each change, so that a stale form is seen."""

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True
