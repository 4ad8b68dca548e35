"""A household to share work among: plain builders, problems drawn by hypothesis, a month to measure, brute force."""

from datetime import date, timedelta
from itertools import combinations, product
from random import Random

from hypothesis import strategies as st

from farm.phrase import Phrase
from farm.planning.rota.choices import choices
from farm.planning.rota.fair import fair
from farm.planning.rota.records import RotaJob, RotaPerson, RotaProblem
from farm.planning.rota.score import bill

MONDAY = date(2026, 5, 4)
MORNING, EVENING = "morning", "evening"
ALWAYS = frozenset((weekday, round_) for weekday in range(7) for round_ in (MORNING, "midday", EVENING))
ABILITIES = ("heat", "lifting", "water", "dosing", "slaughter")


def day(at):
    """Return the day so many days after a Monday."""
    return MONDAY + timedelta(days=at)


def person(key, *abilities, adult=True, child=False, **more):
    """Return an adult who is always there, unless told otherwise; a child is no adult."""
    more = {"rounds": ALWAYS, "name": key.capitalize(), **more}
    return RotaPerson(key=key, adult=adult and not child, child=child, abilities=frozenset(abilities), **more)


def chore(source, at=0, round_=MORNING, *, group="yard", minutes=10, who="child", job="feed", **more):
    """Return an occurrence on the `at`th day."""
    more = {"room": None, "needs": frozenset(), "key": (source, day(at), round_), **more}
    return RotaJob(
        day=day(at),
        round=round_,
        group=group,
        job=job,
        title=Phrase(source),
        minutes=minutes,
        who=who,
        **more,
    )


def daily(source, days, **more):
    """Return an occurrence of a chore on each of the first days."""
    return tuple(chore(source, at, **more) for at in range(days))


def household(people, jobs, **more):
    """Return a problem."""
    return RotaProblem(tuple(people), tuple(jobs), **more)


def month(people=8, days=28, chores=30, seed=1):
    """Return a farm's month: some adults, some children, some only there in part, as many chores every day."""
    random = Random(seed)
    folk = []
    for at in range(people):
        child = at % 4 == 3
        rounds = {(w, r) for w, r in ALWAYS if r != "midday" or w > 4 or at % 4 == 0}
        if at % 4 == 1:
            rounds -= {(w, MORNING) for w in range(5)}
        folk.append(
            person(
                f"p{at}", *(("heat", "lifting", "water", "dosing") if not child else ("water",)),
                adult=at % 4 < 2, child=child, share=0.5 if child else 1.0, rounds=frozenset(rounds),
                max_week_minutes=600 if at % 2 else None, prefers=frozenset({"eggs"} if at == 3 else ()),
            )
        )  # fmt: skip
    kinds = []
    for at in range(chores):
        round_ = (MORNING, MORNING, "midday", EVENING, EVENING)[at % 5]
        group = f"g{at % 4}"
        kinds.append(
            {
                "source": f"room:{at}/c{at % 7}", "round_": round_, "group": group, "room": f"room:{group}",
                "minutes": random.choice((5, 10, 10, 15, 20)),
                "who": random.choice(("child", "child", "helper", "adult")),
                "job": random.choice(("feed", "eggs", "clean", "check")),
                "needs": frozenset({"lifting"} if random.random() < 0.1 else ()),
                "people": 2 if random.random() < 0.05 else 1, "heated": group == "g0",
            }
        )  # fmt: skip
    jobs = [
        chore(kind["source"], at, **{k: v for k, v in kind.items() if k != "source"})
        for at in range(days)
        for kind in kinds
    ]
    return household(folk, jobs)


def every_rota(problem, open_):
    """Yield every rota that breaks no rule about a single job and fills all it can; a child may be alone with heat."""
    options = []
    for job in open_.jobs:
        pinned = set(open_.pinned.get(job.key, ()))
        seats = open_.fillable[job.key]
        options.append(
            [people for people in combinations(open_.may[job.key], seats) if pinned <= set(people)]
        )
    for people in product(*options):
        yield {job.key: some for job, some in zip(open_.jobs, people, strict=True)}


def lonely(problem, rota):
    """Return whether a child is at heat with no adult in the room."""
    kinds = {one.key: (one.adult, one.child) for one in problem.people}
    for job in problem.jobs:
        near = [
            other
            for other in problem.jobs
            if other == job
            or (job.room and (other.day, other.round, other.room) == (job.day, job.round, job.room))
        ]
        adults = any(kinds[key][0] for other in near for key in rota[other.key])
        if job.heated and not adults and any(kinds[key][1] for key in rota[job.key]):
            return True
    return False


def cheapest(problem):
    """Return the cost of the best of all rotas that fill what they can and leave no child alone with heat."""
    open_ = choices(problem)
    goals = fair(problem, open_).targets
    return min(
        bill(problem, open_, goals, rota).cost
        for rota in every_rota(problem, open_)
        if not lonely(problem, rota)
    )


@st.composite
def folk(draw, most=4):
    """Draw people of every kind, some hardly there."""
    people = []
    for at in range(draw(st.integers(1, most))):
        kind = draw(st.sampled_from(("adult", "helper", "child")))
        rounds = draw(st.one_of(st.just(ALWAYS), st.frozensets(st.sampled_from(sorted(ALWAYS)), max_size=12)))
        start = draw(st.integers(-1, 3))
        people.append(
            person(
                "abcdefgh"[at], *draw(st.sets(st.sampled_from(ABILITIES[:2]))), adult=kind == "adult",
                child=kind == "child", rounds=rounds, share=draw(st.sampled_from((0.0, 0.5, 1.0, 1.0, 2.0))),
                away=draw(st.sampled_from(((), ((day(start), day(start + 2)),)))),
                max_week_minutes=draw(st.sampled_from((None, None, 0, 15, 60))),
                prefers=draw(st.frozensets(st.sampled_from(("feed", "clean")), max_size=1)),
                refuses=draw(st.frozensets(st.sampled_from(("feed", "clean")), max_size=1)),
                done=draw(st.sampled_from((0, 0, 7, 40))), present_before=draw(st.integers(0, 3)),
            )
        )  # fmt: skip
    return people


@st.composite
def problems(draw, most_people=4, most_jobs=12):
    """Draw a household with pins, a rota in force and jobs of every kind, also some nobody can do."""
    people = draw(folk(most_people))
    spots = draw(
        st.lists(
            st.tuples(st.integers(0, 3), st.sampled_from((MORNING, EVENING)), st.sampled_from("uvw")),
            unique=True, min_size=1, max_size=most_jobs,
        )
    )  # fmt: skip
    jobs = [
        chore(
            source, at, round_, group=draw(st.sampled_from(("yard", "barn"))),
            room=draw(st.sampled_from((None, "r1", "r1", "r2"))), minutes=draw(st.integers(1, 25)),
            who=draw(st.sampled_from(("adult", "helper", "child", "child"))),
            job=draw(st.sampled_from(("feed", "clean"))),
            needs=draw(st.frozensets(st.sampled_from(ABILITIES[:2]), max_size=1)),
            people=draw(st.sampled_from((1, 1, 2))), heated=draw(st.booleans()),
        )
        for at, round_, source in spots
    ]  # fmt: skip
    keys = [one.key for one in people]
    some = st.lists(st.sampled_from([*keys, "gone"]), min_size=1, max_size=2, unique=True).map(tuple)
    which = st.sampled_from([job.key for job in jobs])
    return household(
        people, jobs, previous=draw(st.dictionaries(which, some, max_size=6)),
        pins=draw(st.dictionaries(which, some, max_size=3)), first_weekday=draw(st.sampled_from((0, 6))),
        seed=draw(st.integers(0, 3)),
    )  # fmt: skip
