"""What must hold of a member's abilities, time and share, and what a new member starts with."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Member
from farm.models.member import ABILITIES, NEVER_CHILDREN, Role
from farm.queries import members as reads

#: What a keeper says of a member besides name and role.
DETAILS = frozenset(
    {"adult", *ABILITIES.values(), "rounds", "max_week_minutes", "share", "prefers", "refuses"}
)
#: Columns that stay off for a child.
NOT_FOR_A_CHILD = ("adult", *(ABILITIES[name] for name in NEVER_CHILDREN))
MOST_SHARE = 1000  # ten full parts, as in the database; project default (judgement)
WEEK_MINUTES = 7 * 24 * 60

Problems = dict[str, list[object]]


def starting(role: str) -> dict[str, bool]:
    """Return what a new member of a role can do until somebody says otherwise: project default (judgement).

    A keeper is an adult who can do all; others carry water alone.
    """
    return {name: role == Role.KEEPER or name == "can_water" for name in ("adult", *ABILITIES.values())}


def tidied(details: Mapping[str, Any]) -> dict[str, Any]:
    """Return the details as they are stored: rounds and chores in order. Raises TypeError for an unknown name."""
    if unknown := sorted(set(details) - DETAILS):
        raise TypeError(f"not something a member has: {', '.join(unknown)}")
    lists = {name: sorted(details[name]) for name in ("rounds", "prefers", "refuses") if name in details}
    return dict(details) | lists


def check(member: Member, details: Mapping[str, Any], role: str) -> None:
    """Raise BadInput, all fields at once, for what a member of `role` cannot have. `details` are those just typed."""
    problems = _numbers(details) | _chores(member, details)
    if role == Role.CHILD:
        for name in NOT_FOR_A_CHILD:
            if details.get(name):
                problems[name] = [_never(name)]
    if problems:
        raise BadInput(problems)


def taken_from_a_child(role: str, details: Mapping[str, Any]) -> dict[str, bool]:
    """Return what becoming a child takes away without a word, as far as `details` do not speak of it."""
    return {name: False for name in NOT_FOR_A_CHILD if role == Role.CHILD and name not in details}


def _never(column: str) -> str:
    texts = {
        "adult": _("An adult is no child: choose another role, or take this off."),
        "can_heat": _("A child never gets heat equipment."),
        "can_dose": _("A child never gives medicine."),
        "can_slaughter": _("A child never slaughters."),
    }
    return texts[column]


def _numbers(details: Mapping[str, Any]) -> Problems:
    problems: Problems = {}
    for name, most in (("max_week_minutes", WEEK_MINUTES), ("share", MOST_SHARE)):
        value = details.get(name)
        if value is not None and not 0 <= value <= most:
            problems[name] = [_("Enter a number from 0 to %(most)d.") % {"most": most}]
    return problems


def _chores(member: Member, details: Mapping[str, Any]) -> Problems:
    """What was chosen before stays possible: a chore of the farm's own may have gone meanwhile."""
    chosen = {
        name: details.get(name, getattr(member, name)) for name in ("prefers", "refuses")
    }  # both: one of them may be all that is typed
    if not set(details) & set(chosen):
        return {}
    known = {*member.prefers, *member.refuses, *(choice.key for choice in reads.choices(member.farm_id))}
    problems: Problems = {
        name: [_("Choose chores of the list.")]
        for name in chosen
        if name in details and _unknown(details[name], known)
    }
    both = set(map(str, chosen["prefers"])) & set(map(str, chosen["refuses"]))
    if both and not problems:
        titles = {choice.key: choice.title for choice in reads.choices(member.farm_id)}
        names = ", ".join(sorted(titles.get(key, key) for key in both))
        problems["refuses" if "refuses" in details else "prefers"] = [
            _("%(chores)s: chosen as liked too. Choose one of the two.") % {"chores": names}
        ]
    return problems


def _unknown(keys: Iterable[object], known: Collection[str]) -> bool:
    return any(key not in known for key in keys)
