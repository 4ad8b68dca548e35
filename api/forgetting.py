"""A name is taken out of the answers kept for programs that send the same once more, when the farm forgets it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from django.dispatch import receiver

from api.models import SentRequest
from farm.models import Farm
from farm.services.channels import sealing
from farm.services.channels.sealing import SealBroken
from farm.services.customers import forgotten


@receiver(forgotten)
def forget(farm: Farm, swap: Callable[[Any], Any], **_more: object) -> None:
    """Rewrite the answers. One that nobody can open any more goes: it might hold the name."""
    for row in SentRequest.objects.filter(farm=farm).exclude(sealed_body=""):
        try:
            body = sealing.open_sealed(row.sealed_body)
        except SealBroken:
            row.delete()
            continue
        said = json.loads(body) if body else None
        told = swap(said)
        if told != said:
            SentRequest.objects.filter(pk=row.pk).update(sealed_body=sealing.seal(json.dumps(told)))
