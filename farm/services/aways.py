"""Days on which a member is away: added by themselves or a keeper, and taken back."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Away, Member
from farm.models.member import Role
from farm.queries import aways as reads
from farm.queries import lookup
from farm.services import day_rules, outside_days, rota_giving
from farm.services.actor import Actor
from farm.services.writing import write

MOST_DAYS = 400  # project default (judgement): a guard against a mistyped year


def add(by: Actor, *, member_id: int, start: date, end: date, note: str = "") -> Away:
    """Enter the days [start, end) on which a member is away. Keepers for anybody, others for themselves.

    What was decided for them on those days no longer holds: the rota gives it to others. Raises BadInput by field,
    NotAllowed, NotFound.
    """
    with write(by, "add days away", role=Role.CHILD) as log:
        member = of(by, member_id)
        check(member, start, end, by.today)
        away = Away(farm=log.farm, member=member, start=start, end=end, note=note.strip())
        outside_days.make_room(log, member, start, end)
        log.add(away)
        rota_giving.let_go_in(log, member, max(start, by.today), end)
        log.says(member, _("%(member)s is away: %(days)s") % {"member": member, "days": days(away)})
    return away


def remove(by: Actor, *, away_id: int) -> Away:
    """Take days away back: the member is there after all. Who may enter them may do that. Returns what was removed.

    Raises BadInput for days from outside, which would only come again, NotAllowed, NotFound.
    """
    with write(by, "remove days away", role=Role.CHILD) as log:
        away = lookup.get(Away, farm_id=by.farm_id, pk=away_id)
        member = of(by, away.member_id)
        if away.outside:
            text = _("These days come from the calendar “%(name)s”. Change them there, or stop using it.")
            raise BadInput.at("", text % {"name": away.note})
        log.says(member, _("%(member)s is not away: %(days)s") % {"member": member, "days": days(away)})
        log.remove(away)
    return away


def of(by: Actor, member_id: int) -> Member:
    """Return the member whose days away `by` may enter. Raises NotAllowed, NotFound."""
    member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    if by.member is not None and by.member.pk != member.pk and by.member.role != Role.KEEPER:
        raise NotAllowed(_("Only a keeper may enter days away for somebody else."))
    return member


def check(member: Member, start: date, end: date, today: date) -> None:
    """Raise BadInput, all fields at once, for days [start, end) on which the member cannot be away."""
    problems: dict[str, list[object]] = {}
    if typo := day_rules.typo(start, today):
        problems["start"] = typo
    elif end <= start:
        problems["end"] = [_("The last day away cannot be before the first.")]
    elif (end - start).days > MOST_DAYS:
        problems["end"] = [_("That is more than %(most)d days. Check the year.") % {"most": MOST_DAYS}]
    else:
        problems |= free(member, start, end)
    if problems:
        raise BadInput(problems)


def free(member: Member, start: date, end: date) -> dict[str, list[object]]:
    """Return the complaint, by field, that the member is away on some of the days [start, end) already; none if not."""
    other = reads.overlapping(member.pk, start, end)
    if other is None:
        return {}
    # The day that runs into the other days is the one to change.
    field = "end" if start < other.start else "start"
    text = _("%(member)s is away already: %(days)s.")
    return {field: [text % {"member": member, "days": days(other)}]}


def days(away: Away) -> str:
    """Return the days in words, as people say them, the last one included: "3 May – 5 May"."""
    last = away.end - timedelta(days=1)
    if away.start == last:
        return wording.day(last)
    if away.start.year == last.year:
        return f"{wording.day(away.start)} – {wording.day(last)}"
    return f"{day_rules.shown(away.start)} – {day_rules.shown(last)}"
