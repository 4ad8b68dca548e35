"""What tells people apart on a page without colour: initials and a pattern."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from farm.models import Member

PATTERNS = 6  # rota.css has so many; people beyond share one, their initials differ


@dataclass(frozen=True, slots=True)
class Badge:
    """A member's initials and the number of their pattern."""

    initials: str
    pattern: int


def badges(members: Iterable[Member]) -> dict[int, Badge]:
    """Return a badge for each member by number: the shortest beginning of the name, from two letters, nobody else has.

    Patterns follow the order in which members joined, so that one keeps theirs when others come.
    """
    people = sorted(members, key=lambda member: member.pk)
    names = {member.pk: "".join(member.name.split()) or "?" for member in people}
    return {
        member.pk: Badge(_initials(names[member.pk], names.values()), number % PATTERNS)
        for number, member in enumerate(people)
    }


def _initials(name: str, names: Iterable[str]) -> str:
    others = Counter(other.casefold() for other in names)
    for length in (2, 3, 4):
        start = name[:length].casefold()
        if sum(many for other, many in others.items() if other.startswith(start)) == 1:
            return name[:length].title()
    return name[:4].title()
