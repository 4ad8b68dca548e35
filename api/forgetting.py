"""A name is taken out of the answers kept for programs that send the same once more, when the farm forgets it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from django.dispatch import receiver

from api.models import SentRequest
from farm.models import Farm
from farm.services.customers import forgotten


@receiver(forgotten)
def forget(farm: Farm, swap: Callable[[Any], Any], **_more: object) -> None:
    """Rewrite the answers."""
    for row in SentRequest.objects.filter(farm=farm).exclude(body=""):
        said = json.loads(row.body)
        told = swap(said)
        if told != said:
            SentRequest.objects.filter(pk=row.pk).update(body=json.dumps(told))
