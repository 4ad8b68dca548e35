"""The judge of rotas: every hard rule broken, found job by job; it shares no code with what makes a rota.

Empty seats are no fault here: the bill counts them and `unfilled` explains them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date

from farm.phrase import N_, Phrase, Value
from farm.planning.rota.records import Assigned, RotaJob, RotaPerson, RotaProblem


def check(problem: RotaProblem, assigned: Assigned) -> tuple[Phrase, ...]:
    """Return what is wrong with a rota, by day; nothing for one that breaks no rule. Only the problem's jobs count."""
    judge = _Judge(problem, assigned)
    jobs = sorted(problem.jobs, key=lambda job: (job.day, job.key))
    return tuple(fault for job in jobs for fault in judge.faults(job))


class _Judge:
    def __init__(self, problem: RotaProblem, assigned: Assigned) -> None:
        self.problem, self.assigned = problem, assigned
        self.people: Mapping[str, RotaPerson] = {person.key: person for person in problem.people}
        self.rooms: dict[tuple[date, str, str], list[RotaJob]] = defaultdict(list)
        for job in problem.jobs:
            if job.room is not None:
                self.rooms[job.day, job.round, job.room].append(job)

    def faults(self, job: RotaJob) -> Iterator[Phrase]:
        """Yield every rule broken by one job."""
        given = self.assigned.get(job.key, ())
        if len(given) > job.people:
            yield _said(N_("%(title)s on %(day)s has more people than it takes."), job)
        if len(set(given)) < len(given):
            yield _said(N_("%(title)s on %(day)s has somebody twice."), job)
        for key in dict.fromkeys(given):
            if key not in self.people:
                yield _said(N_("%(title)s on %(day)s is given to somebody who isn't here."), job)
            else:
                yield from self._person(job, self.people[key])
        for key in self._due_pins(job):
            if key not in given:
                name = self.people[key].name
                yield _said(
                    N_("%(title)s on %(day)s is fixed to %(person)s and not given to them."), job, person=name
                )

    def _person(self, job: RotaJob, person: RotaPerson) -> Iterator[Phrase]:
        if job.who == "adult" and not person.adult:
            yield _said(N_("%(title)s on %(day)s takes an adult, not %(person)s."), job, person=person.name)
        if job.who == "helper" and person.child:
            yield _said(
                N_("%(title)s on %(day)s is not for a child like %(person)s."), job, person=person.name
            )
        if job.needs - person.abilities:
            yield _said(N_("%(person)s may not do %(title)s on %(day)s."), job, person=person.name)
        if person.child and job.heated and not self._adult_about(job):
            text = N_("%(person)s would be alone with heat equipment at %(title)s on %(day)s.")
            yield _said(text, job, person=person.name)
        if person.key in self.problem.pins.get(job.key, ()):
            return
        if _absent(job, person):
            yield _said(N_("%(person)s isn't there for %(title)s on %(day)s."), job, person=person.name)
        if job.job in person.refuses:
            yield _said(N_("%(person)s is never to have %(title)s (%(day)s)."), job, person=person.name)

    def _beside(self, job: RotaJob) -> list[RotaJob]:
        """Return the jobs in the same room at the same time, itself included."""
        return [job] if job.room is None else self.rooms[job.day, job.round, job.room]

    def _adult_about(self, job: RotaJob) -> bool:
        given = (key for other in self._beside(job) for key in self.assigned.get(other.key, ()))
        return any(key in self.people and self.people[key].adult for key in given)

    def _sound_pins(self, job: RotaJob) -> list[str]:
        """Return pins that could hold if there were no heat, as many as there are seats."""
        people = [
            self.people[key]
            for key in dict.fromkeys(self.problem.pins.get(job.key, ()))
            if key in self.people
        ]
        return [person.key for person in people if _may(job, person)][: job.people]

    def _due_pins(self, job: RotaJob) -> list[str]:
        """Return pins that must hold: a child's at heat only if an adult could be there with all pins kept."""
        pins = self._sound_pins(job)
        if not job.heated or not any(self.people[key].child for key in pins):
            return pins
        for other in self._beside(job):
            held = self._sound_pins(other)
            if any(self.people[key].adult for key in held):
                return pins
            if len(held) < other.people and any(
                person.adult
                and _may(other, person)
                and not _absent(other, person)
                and other.job not in person.refuses
                for person in self.people.values()
            ):
                return pins
        return [key for key in pins if not self.people[key].child]


def _may(job: RotaJob, person: RotaPerson) -> bool:
    if job.who == "adult" and not person.adult:
        return False
    return not (job.who == "helper" and person.child) and job.needs.issubset(person.abilities)


def _absent(job: RotaJob, person: RotaPerson) -> bool:
    if (job.day.weekday(), job.round) not in person.rounds:
        return True
    return any(start <= job.day and job.day < end for start, end in person.away)


def _said(text: str, job: RotaJob, **more: Value) -> Phrase:
    return Phrase(text, {"title": job.title, "day": job.day, **more})
