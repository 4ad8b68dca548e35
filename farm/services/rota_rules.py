"""Who may not be given what, in plain words; and what a keeper should know of what may be given all the same."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from farm import wording
from farm.errors import BadInput
from farm.models import Assignment, Farm, Member
from farm.phrase import N_, Phrase
from farm.planning import rota as engine
from farm.planning.rota.records import Assigned, RotaJob, RotaPerson, RotaProblem
from farm.planning.rota.score import week_of
from farm.queries import rounds

#: What is said of a missing ability.
_LACKS = {
    "heat": gettext_noop("%(member)s does not handle heat equipment: %(title)s."),
    "lifting": gettext_noop("%(member)s does not lift heavy things: %(title)s."),
    "water": gettext_noop("%(member)s does not carry water: %(title)s."),
    "dosing": gettext_noop("%(member)s does not give medicine: %(title)s."),
    "slaughter": gettext_noop("%(member)s does not slaughter: %(title)s."),
}


def check_may(member: Member, job: RotaJob) -> None:
    """Raise BadInput at "member" when they may not do a job: not old enough, or not able to."""
    values = {"member": member, "title": wording.say(job.title)}
    if not rounds.old_enough(member, job.who):
        text = _("This is for adults only, not for %(member)s: %(title)s.")
        if job.who != "adult":
            text = _("This is not for a child like %(member)s: %(title)s.")
        raise BadInput.at("member", text % values)
    for ability in sorted(job.needs - member.abilities):
        raise BadInput.at("member", _(_LACKS[ability]) % values)


def check_whole(problem: RotaProblem, before: Assigned, after: Assigned) -> None:
    """Raise BadInput at "member" for every rule that holds before and not after: a child left alone at heat.

    problem: with the decisions as they are after.
    """
    known = engine.check(problem, before)
    broken = [fault for fault in engine.check(problem, after) if fault not in known]
    if broken:
        raise BadInput({"member": [wording.say(fault) for fault in broken]})


def warnings(farm: Farm, person: RotaPerson, jobs: Sequence[RotaJob]) -> Iterator[Phrase]:
    """Yield what somebody who was given these jobs did not wish for: days away, other rounds, chores, long weeks."""
    told = set[tuple[object, ...]]()
    for job in jobs:
        fact = _unwished(person, job)
        if fact is not None and (key := (fact.text, *map(str, fact.values.values()))) not in told:
            told.add(key)
            yield fact
    yield from _long_weeks(farm, person, jobs)


def _unwished(person: RotaPerson, job: RotaJob) -> Phrase | None:
    if any(start <= job.day < end for start, end in person.away):
        return Phrase(N_("%(member)s is away on %(day)s."), {"member": person.name, "day": job.day})
    if (job.day.weekday(), job.round) not in person.rounds:
        text = N_("%(member)s is usually not there for this round on %(day)s.")
        return Phrase(text, {"member": person.name, "day": job.day})
    if job.job in person.refuses:
        text = N_("%(member)s does not want this chore: %(title)s.")
        return Phrase(text, {"member": person.name, "title": job.title})
    return None


def _long_weeks(farm: Farm, person: RotaPerson, jobs: Sequence[RotaJob]) -> Iterator[Phrase]:
    if person.max_week_minutes is None:
        return
    for week in sorted({week_of(job.day, farm.first_weekday) for job in jobs}):
        rows = Assignment.objects.filter(
            farm=farm, member_id=int(person.key), day__gte=week, day__lt=week + timedelta(days=7)
        )
        minutes = sum(rows.values_list("minutes", flat=True))
        if minutes > person.max_week_minutes:
            text = N_(
                "%(member)s has %(minutes)d min in the week from %(day)s and wanted %(most)d min at most."
            )
            yield Phrase(
                text,
                {
                    "member": person.name,
                    "minutes": minutes,
                    "day": week,
                    "most": person.max_week_minutes,
                },
            )
