"""One database of invented farms made ready to be asked: run as a process of its own, it prints what to ask for.

`python -m bench.growth_farm FARMS`, with DATABASE_URL and the secret key in the environment. The farm that is asked is
the first of its seed, the same in every database; only how many others there are beside it differs.
"""

from __future__ import annotations

import json
import os
import sys
from datetime import date
from typing import Any

SEED, LABEL = 1, "measured"


def main(farms: int) -> None:
    """Make the database ready and print it all as one line of JSON."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    _fill(farms)
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # the planner of queries knows how large the tables have become
    print(json.dumps(ready()))


def _fill(farms: int) -> None:
    from farm.models import Farm
    from farm.services import synthetic
    from farm.web import clock

    missing = farms - Farm.objects.count()
    if missing > 0:
        for made in synthetic.generate(synthetic.Wanted(missing, seed=SEED), now=clock.now()):
            print(f"  {made} of {missing} farms", file=sys.stderr)


def ready() -> dict[str, Any]:
    """Return the session, the link's secret, a tick's fields and the queries of each request."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from farm.models import Login
    from farm.services import synthetic

    client = Client(HTTP_HOST="localhost")
    client.force_login(Login.objects.get(email=synthetic.LOGIN.format(seed=SEED, number=1)))
    secret, tick = _published(), _tick()
    calendar = f"/c/{secret}.ics"
    tag = client.get(calendar)["ETag"]
    asks = {
        "today": lambda: client.get("/"),
        "board": lambda: client.get("/board/"),
        "calendar 200": lambda: client.get(calendar),
        "calendar 304": lambda: client.get(calendar, headers={"If-None-Match": tag}),
        "tick": lambda: client.post("/today/mark/", tick, headers={"HX-Request": "true"}),
    }
    queries = {}
    for name, ask in asks.items():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            answer = ask()
        if answer.status_code != (304 if name.endswith("304") else 200):
            raise RuntimeError(f"{name} answered {answer.status_code}")
        queries[name] = len(seen)
    client.post("/today/unmark/", tick, headers={"HX-Request": "true"})
    session = client.cookies["sessionid"].value
    return {"session": session, "secret": secret, "tick": tick, "queries": queries}


def _keeper() -> Any:
    from farm.models import Member
    from farm.services import synthetic

    return Member.objects.select_related("farm").get(login__email=synthetic.LOGIN.format(seed=SEED, number=1))


def _published() -> str:
    """Return the secret of a new link to all of the farm."""
    from calendars import services
    from farm.models.history import Face
    from farm.services.actor import system
    from farm.web import clock

    keeper = _keeper()
    by = system(keeper.farm, face=Face.COMMAND, now=clock.now())
    _link, secret = services.make_link(by, member_id=keeper.pk, label=LABEL, scope="farm")
    return secret


def _tick() -> dict[str, str]:
    """Return the fields of a tick of today's first open chore."""
    from farm.planning.window import Window
    from farm.queries import agenda
    from farm.services.actor import local_day
    from farm.web import clock

    farm = _keeper().farm
    today: date = local_day(farm, clock.now())
    marked = set(agenda.marks(farm, Window(today, 1)))
    items = [item for item in agenda.for_farm(farm, Window(today, 1), today) if item.occurrence not in marked]
    source, due, part = items[0].occurrence
    return {"source": source, "due": due.isoformat(), "round": part, "title": "x", "day": today.isoformat()}


if __name__ == "__main__":
    main(int(sys.argv[1]))
