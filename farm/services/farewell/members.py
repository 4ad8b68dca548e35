"""A member who left is forgotten: what was theirs goes, what they did stays, under a number."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from django.db.models import CASCADE, Model, Q
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Change, Farm, HistoryEntry, MarkPhoto, Member, Order
from farm.models.member import Role
from farm.queries import lookup
from farm.services.actor import Actor
from farm.services.customers import forgotten
from farm.services.farewell.told import retell
from farm.services.swapping import Swap, rewrite
from farm.services.writing import Log, name_of, write

_VERB = "forget member"
#: What the rota says of who did what: days and numbers of chores, of which the history's rows hold nothing else.
_OF_THE_ROTA = frozenset({"assignment", "pin", "swap"})
#: What a person can do and likes: a forgotten member is as one just added.
_OWN = (
    *("adult", "can_heat", "can_lift", "can_water", "can_dose", "can_slaughter"),
    *("rounds", "max_week_minutes", "share", "prefers", "refuses"),
)


def forget(by: Actor, *, member_id: int) -> str:
    """Forget a member who has left, and return what stands in place of their name ("Former member 3").

    Their links, channels, messages, days away, calendars, app passwords and pictures go. Ledger, ticks and history keep
    what they did under the number; their name is taken out of every note, message and line of the history. Cannot be
    undone, or nothing would be forgotten. Raises BadInput for one who is there or forgotten already, NotFound.
    """
    with write(by, _VERB, role=Role.KEEPER) as log:
        member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
        if member.left_on is None:
            raise BadInput.at(
                "", _("%(member)s is on the farm. Take them off it first.") % {"member": member}
            )
        if is_forgotten(member):
            raise BadInput.at("", _("%(member)s is forgotten already.") % {"member": member})
        code = forget_in(log, member)
        log.says(member, _("%(code)s was forgotten") % {"code": code})
    return code


def forget_wholly(by: Actor, *, member_id: int, also: Collection[str]) -> None:
    """Take a member off the farm, if they are on it, and forget them, on a closed farm too.

    also: what else is theirs and may stand in a note: an e-mail address. Twice is once. Raises NotFound.
    """
    with write(by, _VERB, role=Role.KEEPER, closed=True) as log:
        member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
        if not is_forgotten(member):
            code = forget_in(log, member, also)
            log.says(member, _("%(code)s was forgotten") % {"code": code})


def is_forgotten(member: Member) -> bool:
    """Say whether a member was forgotten."""
    return HistoryEntry.objects.filter(
        farm_id=member.farm_id, verb=_VERB, noun=name_of(member), noun_id=member.pk
    ).exists()


def left(farm_id: int) -> list[Member]:
    """Return those who have left a farm and are remembered by name, by name."""
    entries = HistoryEntry.objects.filter(farm_id=farm_id, verb=_VERB).values("noun_id")
    return list(Member.objects.filter(farm_id=farm_id, left_on__isnull=False).exclude(pk__in=entries))


def forget_in(log: Log, member: Member, also: Collection[str] = ()) -> str:
    """Forget a member inside an open write."""
    names = {member.name, *_earlier_names(member), *also} - {""}
    number = HistoryEntry.objects.filter(farm=log.farm, verb=_VERB).count() + 1
    code = _("Former member %(number)d") % {"number": number}
    swap = Swap({*names, *_others(log.farm, member)}, names, code)
    _drop_what_is_theirs(member)
    _empty_history(member, code)
    retell(log.farm, swap)
    forgotten.send(sender=Farm, farm=log.farm, swap=swap.of)
    _make_anew(member, code, member.left_on or log.by.today)
    # The row says what stands there now, and nothing of what did.
    log.changes.append(
        Change(
            model=name_of(member), row=member.pk, before=None, after={"id": member.pk, "name": code} | _MARK
        )
    )
    return code


_MARK = {"forgotten": True}


def theirs() -> Iterator[tuple[type[Model], str]]:
    """Yield each model whose rows end with their member, and the link by which they do."""
    for relation in Member._meta.get_fields(include_hidden=True):
        ends = getattr(relation, "on_delete", None) is CASCADE
        if ends and (relation.one_to_many or relation.one_to_one):
            yield relation.related_model, relation.field.name  # type: ignore[misc, union-attr]


def _drop_what_is_theirs(member: Member) -> None:
    for model, link in theirs():
        model._default_manager.filter(**{link: member}).delete()
    MarkPhoto.objects.filter(mark__member=member).delete()


def _earlier_names(member: Member) -> set[str]:
    rows = Change.objects.filter(
        entry__farm_id=member.farm_id, model=name_of(member), row=member.pk
    ).values_list("before", "after")
    return {row["name"] for pair in rows for row in pair if row and row.get("name")}


def _others(farm: Farm, member: Member) -> set[str]:
    """Return the names of others: whoever is called the same and something more is not touched."""
    names = set(Member.objects.filter(farm=farm).exclude(pk=member.pk).values_list("name", flat=True))
    return names | set(Order.objects.filter(farm=farm).values_list("customer", flat=True))


def _empty_history(member: Member, code: str) -> None:
    """Leave of the history's rows about the member and what was theirs only that there was such a row."""
    HistoryEntry.objects.filter(member=member).update(login=None)
    kinds = {model._meta.model_name for model, _link in theirs()} - _OF_THE_ROTA
    own = Q(model=name_of(member), row=member.pk)
    had = Q(model__in=kinds) & (Q(before__member_id=member.pk) | Q(after__member_id=member.pk))
    for change in Change.objects.filter(own | had, entry__farm_id=member.farm_id):
        labels = {row["label"] for row in (change.before, change.after) if row and row.get("label")}
        if labels:
            entries = HistoryEntry.objects.filter(pk=change.entry_id)
            rewrite(entries, ("summary",), Swap(labels, labels, "…"))
        called = {"name": code} if change.model == name_of(member) else {"member_id": member.pk}
        bare = {"id": change.row} | called | _MARK
        values: dict[str, Any] = {
            column: bare for column in ("before", "after") if getattr(change, column) is not None
        }
        Change.objects.filter(pk=change.pk).update(**values)


def _make_anew(member: Member, code: str, left_on: Any) -> None:
    fresh = Member()
    blank = {name: getattr(fresh, name) for name in _OWN}
    Member.objects.filter(pk=member.pk).update(
        name=code, login=None, left_on=left_on, role=Role.HELPER, version=member.version + 1, **blank
    )
    member.refresh_from_db()
