"""Proof that a line of the agenda was shown to a member, so that their phone may send it back days later.

What a phone ticked without network may be gone from the agenda, or somebody else's, by the time it is sent. The page
therefore signs each line for the member it showed it to.
"""

from __future__ import annotations

import hmac
from collections.abc import Sequence
from datetime import date

from django.core.signing import Signer

from farm.models import Member

_SIGNS = 27  # 160 bits of the signature are enough; project default (judgement)
Key = tuple[str, date, str]


def proof(member: Member, key: Key, title: str, minutes: int) -> str:
    """Return the proof that an occurrence with its title and minutes was shown to `member`."""
    source, due, round = key
    # A mark holds the first 200 characters of a title, so no more of it need come back.
    said: Sequence[object] = (member.farm_id, member.pk, source, due.isoformat(), round, minutes, title[:200])
    return Signer(salt="my-line").signature("\n".join(map(str, said)))[:_SIGNS]


def proven(given: str, member: Member, key: Key, title: str, minutes: int) -> bool:
    """Say whether `given` is that proof."""
    return hmac.compare_digest(given.encode(), proof(member, key, title, minutes).encode())
