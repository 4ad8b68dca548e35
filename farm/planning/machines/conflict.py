"""What a conflict between egg sets and machines is, and the sentence that says it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from farm.phrase import N_, Phrase, Value

#: Every kind of conflict, and what its `eggs` counts.
KINDS = {
    "capacity": "least eggs to take out on the worst day",
    "lockdown": "eggs still turned beside eggs that hatch",
    "species": "eggs of a species the machine is not for",
    "climate": "eggs that need other humidity than those beside them",
    "cleaning": "eggs that come before the machine is cleaned",
    "service": "eggs in a machine out of service",
    "size": "eggs of a size the machine has no room for",
    "work": "eggs set where none are set, or hatching where none hatch",
}


@dataclass(frozen=True, slots=True)
class Conflict:
    """One rule broken in one machine over the half-open days [start, end).

    loads, names: the egg sets concerned, keys and names alike ordered: for `lockdown` and `cleaning` the hatching one
    first. worst: the first day on which most is broken. eggs: see KINDS. hatching: for `work`, that they hatch there.
    """

    kind: str
    machine: str
    machine_name: str
    loads: tuple[str, ...]
    names: tuple[str, ...]
    start: date
    end: date
    worst: date
    eggs: int
    hatching: bool = False

    def sentence(self) -> Phrase:
        """Return what is wrong, with the machine, the egg sets, how many eggs and the days."""
        values: dict[str, Value] = {
            "machine": self.machine_name,
            "one": self.names[0],
            "other": self.names[-1],
            "eggs": self.eggs,
            "first": self.start,
            "last": self.end - timedelta(days=1),
            "day": self.worst,
        }
        kind = "hatching" if self.kind == "work" and self.hatching else self.kind
        single, plural = _TEXTS[kind]
        return Phrase(
            single, {name: v for name, v in values.items() if f"%({name})" in plural}, plural, "eggs"
        )


_TEXTS = {
    "capacity": (
        N_("%(machine)s is too full by %(eggs)d egg from %(first)s to %(last)s, most on %(day)s"),
        N_("%(machine)s is too full by %(eggs)d eggs from %(first)s to %(last)s, most on %(day)s"),
    ),
    "lockdown": (
        N_(
            "%(machine)s: %(one)s hatches while %(eggs)d egg of %(other)s is still turned, %(first)s to %(last)s"
        ),
        N_(
            "%(machine)s: %(one)s hatches while %(eggs)d eggs of %(other)s are still turned, %(first)s to %(last)s"
        ),
    ),
    "species": (
        N_("%(machine)s is not for %(one)s: %(eggs)d egg from %(first)s to %(last)s"),
        N_("%(machine)s is not for %(one)s: %(eggs)d eggs from %(first)s to %(last)s"),
    ),
    "climate": (
        N_("%(machine)s: %(eggs)d egg of %(other)s needs other humidity than %(one)s, %(first)s to %(last)s"),
        N_("%(machine)s: %(eggs)d eggs of %(other)s need other humidity than %(one)s, %(first)s to %(last)s"),
    ),
    "cleaning": (
        N_(
            "%(machine)s is cleaned after %(one)s from %(first)s to %(last)s; %(eggs)d egg of %(other)s comes too soon"
        ),
        N_(
            "%(machine)s is cleaned after %(one)s from %(first)s to %(last)s; %(eggs)d eggs of %(other)s come too soon"
        ),
    ),
    "service": (
        N_("%(machine)s is out of service from %(first)s to %(last)s with %(eggs)d egg of %(one)s in it"),
        N_("%(machine)s is out of service from %(first)s to %(last)s with %(eggs)d eggs of %(one)s in it"),
    ),
    "size": (
        N_("%(machine)s has no room for eggs of that size: %(eggs)d of %(one)s, %(first)s to %(last)s"),
        N_("%(machine)s has no room for eggs of that size: %(eggs)d of %(one)s, %(first)s to %(last)s"),
    ),
    "work": (
        N_("%(machine)s is a hatcher; %(eggs)d egg of %(one)s cannot be set in it, %(first)s to %(last)s"),
        N_("%(machine)s is a hatcher; %(eggs)d eggs of %(one)s cannot be set in it, %(first)s to %(last)s"),
    ),
    "hatching": (
        N_("%(machine)s is a setter; %(eggs)d egg of %(one)s cannot hatch in it, %(first)s to %(last)s"),
        N_("%(machine)s is a setter; %(eggs)d eggs of %(one)s cannot hatch in it, %(first)s to %(last)s"),
    ),
}
