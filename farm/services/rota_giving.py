"""People decide who does what: the rota works around it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm import wording
from farm.errors import BadInput, NotFound
from farm.models import Assignment, Change, Farm, Member, Pin, Postponement
from farm.models.member import Role
from farm.phrase import Phrase
from farm.planning import rota as engine
from farm.planning.rota.records import Key, RotaJob, RotaProblem
from farm.planning.window import Window
from farm.queries import lookup, rota_people, rota_problem, rota_rows
from farm.services import rota_rows as writing_rows
from farm.services import rota_rules
from farm.services.actor import Actor
from farm.services.writing import Log, write


@dataclass(frozen=True, slots=True)
class Hand:
    """A job goes to a member. instead_of: whoever no longer does it, None where nobody in particular."""

    job: RotaJob
    member: Member
    instead_of: int | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """What is open on some days, and who is given it; read under the farm's lock. given: of members still here."""

    farm: Farm
    today: date
    jobs: Mapping[Key, RotaJob]
    given: Mapping[Key, tuple[int, ...]]
    members: Mapping[int, Member]

    def of(self, member: int, day: date, round: str) -> list[RotaJob]:
        """Return what a member is given in one round, in the agenda's order."""
        return [
            job
            for key, job in self.jobs.items()
            if (job.day, job.round) == (day, round) and member in self.given.get(key, ())
        ]


def give(
    by: Actor, *, occurrences: Sequence[Key], member_id: int, instead_of: int | None = None
) -> tuple[Phrase, ...]:
    """Decide that a member does these occurrences, and return what they did not wish for; it holds all the same.

    instead_of: who of two no longer does it; None: whoever nobody decided on. What is done already is left out. Keepers
    only. Raises BadInput at "member" with the reason when they may not do one or a child would be alone at heat, and at
    "" when nothing of it is open; NotFound.
    """
    with write(by, "give chores", role=Role.KEEPER) as log:
        member = present(log.farm, member_id)
        now = standing(log.farm, days_of(log.farm, occurrences), by.today)
        jobs = [now.jobs[key] for key in dict.fromkeys(occurrences) if key in now.jobs]
        if not jobs:
            raise BadInput.at("", _("Nothing of this is open any more. Open the page again."))
        found = hand(log, now, [Hand(job, member, instead_of) for job in jobs])
        log.says(member, _("%(member)s does %(what)s") % {"member": member, "what": words(jobs)})
    return found


def let_go(by: Actor, *, occurrences: Sequence[Key]) -> int:
    """Leave it to the rota again who does these occurrences, and return how many decisions that ends. Keepers only."""
    with write(by, "let chores go", role=Role.KEEPER) as log:
        pins = _pins(log.farm, occurrences)
        for pin in (pin for each in pins.values() for pin in each):
            log.remove(pin)
        text = ngettext(
            "Left to the rota again: %(chores)d chore", "Left to the rota again: %(chores)d chores", len(pins)
        )
        log.says(None, text % {"chores": len(pins)})
    return sum(map(len, pins.values()))


def present(farm: Farm, member_id: int) -> Member:
    """Return a member who is still on the farm. Raises NotFound."""
    member = lookup.get(Member, farm_id=farm.pk, pk=member_id)
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    return member


def standing(farm: Farm, days: Iterable[date], today: date) -> Standing:
    """Return what is open on the days from the first to the last of these, none before today.

    Raises BadInput where the farm has no rota.
    """
    if rota_rows.rules(farm) is None:
        raise BadInput.at("", _("This farm has no rota. Start one first."))
    coming = [day for day in days if day >= today]
    members = rota_rows.members(farm)
    if not coming:
        return Standing(farm, today, {}, {}, members)
    window = Window(min(coming), (max(coming) - min(coming)).days + 1)
    jobs = {job.key: job for job in rota_problem.open_jobs(farm, window, today)}
    rows = rota_rows.given(farm, min((key[1] for key in jobs), default=today))
    given = {key: tuple(each for each in rows.get(key, ()) if each in members) for key in jobs}
    return Standing(farm, today, jobs, given, members)


def hand(log: Log, now: Standing, hands: Sequence[Hand]) -> tuple[Phrase, ...]:
    """Give jobs to people as decided, inside an open write, and return what they did not wish for.

    Raises BadInput at "member".
    """
    pinned = _pins(now.farm, [hand.job.key for hand in hands])
    after, fixed = dict(now.given), dict[Key, tuple[int, ...]]()
    for each in hands:
        rota_rules.check_may(each.member, each.job)
        key = each.job.key
        keeps = [pin.member_id for pin in pinned.get(key, ()) if pin.member_id in after[key]]
        after[key] = _seated(each, after[key], keeps)
        fixed[key] = (*(member for member in keeps if member in after[key]), each.member.pk)
    problem = _problem(now, fixed)
    before, then = _text(now.given), _text(after)
    rota_rules.check_whole(problem, before, then)
    for each in hands:
        _save(log, each.job, now.given[each.job.key], after[each.job.key])
        _fix(log, each, pinned.get(each.job.key, ()), after[each.job.key])
    changes = engine.compare(before, then, now.jobs.values())
    writing_rows.tell(now.farm, changes, log.by.now, log.by.member.pk if log.by.member else None)
    people = {person.key: person for person in problem.people}
    return tuple(
        warning
        for member in dict.fromkeys(each.member for each in hands)
        for warning in rota_rules.warnings(
            now.farm, people[str(member.pk)], [each.job for each in hands if each.member == member]
        )
    )


def days_of(farm: Farm, occurrences: Iterable[Key]) -> list[date]:
    """Return the days on which occurrences are done: those put off count where they were put."""
    keys = set(occurrences)
    rows = Postponement.objects.filter(farm=farm, due__in={key[1] for key in keys})
    moved = {row.occurrence: row.to_due for row in rows}
    return [moved.get(key, key[1]) for key in keys]


def words(jobs: Sequence[RotaJob]) -> str:
    """Return jobs in a few words for the history: one by its title, several by their number and first day."""
    title, day = wording.say(jobs[0].title), wording.day(jobs[0].day)
    if len(jobs) == 1:
        return _("%(title)s on %(day)s") % {"title": title, "day": day}
    return _("%(chores)d chores from %(day)s on: %(title)s …") % {
        "chores": len(jobs),
        "title": title,
        "day": day,
    }


def _seated(hand: Hand, people: tuple[int, ...], keeps: Sequence[int]) -> tuple[int, ...]:
    """Return who does the job then. keeps: of those on it, whom people decided on."""
    member = hand.member.pk
    if member in people:
        if hand.instead_of not in (None, member):
            text = _("%(member)s does this already: %(title)s.")
            values = {"member": hand.member, "title": wording.say(hand.job.title)}
            raise BadInput.at("member", text % values)
        return people
    if hand.instead_of in people:
        return tuple(member if each == hand.instead_of else each for each in people)
    if len(people) < hand.job.people:
        return (*people, member)
    goes = next((each for each in reversed(people) if each not in keeps), people[-1])
    return tuple(member if each == goes else each for each in people)


def _problem(now: Standing, fixed: dict[Key, tuple[int, ...]]) -> RotaProblem:
    people = rota_people.people(now.farm, Window(now.today, 1), Window(now.today, 1))
    pins = _text(rota_rows.pins(now.farm, min(key[1] for key in now.jobs)) | fixed)
    return RotaProblem(people=people, jobs=tuple(now.jobs.values()), pins=pins)


def _text(people: Mapping[Key, Sequence[int]]) -> dict[Key, tuple[str, ...]]:
    return {key: tuple(map(str, each)) for key, each in people.items()}


def _save(log: Log, job: RotaJob, before: Sequence[int], after: Sequence[int]) -> None:
    source, due, round = job.key
    rows = {
        row.seat: row for row in Assignment.objects.filter(farm=log.farm, source=source, due=due, round=round)
    }
    wanted = writing_rows.seats(after, {seat: row.member_id for seat, row in rows.items()})
    stays = {seat for seat, row in rows.items() if (wanted.get(seat), job.day) == (row.member_id, row.day)}
    for seat in rows.keys() - stays:
        log.remove(rows[seat])
    for seat in sorted(wanted.keys() - stays):
        log.add(writing_rows.made(log.farm, job, seat, wanted[seat]))


def _fix(log: Log, hand: Hand, pins: Iterable[Pin], after: Sequence[int]) -> None:
    source, due, round = hand.job.key
    for pin in pins:
        if pin.member_id not in after:
            log.remove(pin)
    if all(pin.member_id != hand.member.pk for pin in pins):
        log.add(Pin(farm=log.farm, source=source, due=due, round=round, member=hand.member))


def _pins(farm: Farm, occurrences: Iterable[Key]) -> dict[Key, list[Pin]]:
    keys = set(occurrences)
    found: dict[Key, list[Pin]] = defaultdict(list)
    for pin in Pin.objects.filter(farm=farm, due__in={key[1] for key in keys}).select_related("member"):
        if (key := (pin.source, pin.due, pin.round)) in keys:
            found[key].append(pin)
    return dict(found)


def let_go_in(log: Log, member: Member, start: date, end: date) -> int:
    """End inside an open write what was decided for a member on the days [start, end), and return how many that are.

    For days away: a decision made before somebody knew of them must not hold a chore for who is not there.
    """
    days = [start + timedelta(days=each) for each in range((end - start).days)]
    rows = Assignment.objects.filter(farm=log.farm, member=member, day__in=days)
    keys = [(row.source, row.due, row.round) for row in rows]
    found = [pin for pins in _pins(log.farm, keys).values() for pin in pins if pin.member_id == member.pk]
    for pin in found:
        log.remove(pin)
    return len(found)


def take_back(log: Log, changes: Sequence[Change]) -> None:
    """Put people back where they were before an undone decision, as far as their seats are free and the day is to come.

    The rota may have been worked out anew since; what it cannot be put back to, it works out by itself.
    """
    if not changes or rota_rows.rules(log.farm) is None:
        return
    said = [change.after or change.before or {} for change in changes]
    days = [date.fromisoformat(values["day"]) for values in said]
    before = standing(log.farm, days, log.by.today)
    for change in reversed(changes):
        _take_back(log, change, before)
    after = standing(log.farm, days, log.by.today)
    moved = engine.compare(_text(before.given), _text(after.given), after.jobs.values())
    writing_rows.tell(log.farm, moved, log.by.now, log.by.member.pk if log.by.member else None)


def _take_back(log: Log, change: Change, now: Standing) -> None:
    values = change.after or change.before or {}
    key = values["source"], date.fromisoformat(values["due"]), values["round"]
    member = values["member_id"]
    rows = Assignment.objects.filter(farm=log.farm, source=key[0], due=key[1], round=key[2])
    if key not in now.jobs:
        return
    if change.before is None:
        for row in rows.filter(member_id=member):
            log.remove(row)
    elif member in now.members and not rows.filter(Q(seat=values["seat"]) | Q(member_id=member)).exists():
        log.add(writing_rows.made(log.farm, now.jobs[key], values["seat"], member))
