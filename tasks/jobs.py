"""The background jobs. Each fetches by id and calls one service; run twice or late, it does no harm.

How one is retried and when it expires is `farm.dispatch.Job`. Services are imported inside the jobs, so that
loading Django never loads all of them.
"""

from __future__ import annotations

import logging

from django.core.management import call_command

from farm.dispatch import Job
from farm.web import clock, signs
from tasks import swept
from tasks.app import app

log = logging.getLogger(__name__)
#: How long an exact solver may look for a better rota: project default (judgement)
ROTA_POLISH_SECONDS = 2.0


def _farm_ids() -> list[int]:
    from farm.models import Farm

    return list(Farm.objects.filter(closing_on__isnull=True).order_by("pk").values_list("pk", flat=True))


@app.task(base=Job, name="roll_over")
def roll_over(*, farm_id: int) -> None:
    """Bring one farm up to today in its own time zone. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services import odds, upkeep

    try:
        upkeep.roll_over(farm_id=farm_id, now=clock.now())
        odds.record_odds(farm_id=farm_id, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, nothing to roll over", farm_id)


@app.task(base=Job, name="refresh_odds")
def refresh_odds(*, farm_id: int) -> None:
    """Write down how a farm's open order lines stand today. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services import odds

    try:
        odds.record_odds(farm_id=farm_id, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, no odds", farm_id)


@app.task(base=Job, name="roll_over_all")
def roll_over_all() -> int:
    """Send up to four jobs for every farm that something may have happened to, and return to how many farms.

    More workers share them; one that fails is that farm's alone. A farm that is up to date costs a look.
    """
    farms = 0
    with app.producer_or_acquire() as producer:
        for farm_id, names in swept.due():
            farms += 1
            for name in names:
                ids = {"farm_id": farm_id}
                app.tasks[name].apply_async(kwargs=ids, producer=producer, queue=swept.QUEUE)
    return farms


@app.task(base=Job, name="sign_of_life")
def sign_of_life() -> None:
    """Note that a worker is at work: `/readyz` and whoever watches ask for it."""
    signs.leave("worker", clock.now())


@app.task(base=Job, name="clear_expired")
def clear_expired() -> None:
    """Remove what no longer opens anything: expired sessions and invitations."""
    from farm.services import upkeep

    call_command("clearsessions")
    upkeep.clear_expired(now=clock.now())


@app.task(base=Job, name="solve_plan")
def solve_plan(*, plan_id: int) -> None:
    """Work one plan out. One that is gone, taken by another run or finished is left alone."""
    from farm.services import solving

    solving.run(plan_id=plan_id, now=clock.now)


@app.task(base=Job, name="prove_plan")
def prove_plan(*, plan_id: int) -> None:
    """Prove that nothing is better than a plan, or find it. One that is gone or not asked about is left alone."""
    from farm.services import proving

    proving.run(plan_id=plan_id)


@app.task(base=Job, name="take_up_plans")
def take_up_plans() -> None:
    """Send again the plans nobody works on: their job was lost, or its worker died."""
    from farm.services import solving

    solving.take_up(now=clock.now())


@app.task(base=Job, name="propose_after")
def propose_after(*, farm_id: int, why: str) -> None:
    """Propose a plan after a loss, a late arrival or a change of housing. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services import plans

    try:
        plans.propose_after(farm_id=farm_id, why=why, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, nothing to propose", farm_id)


@app.task(base=Job, name="refresh_headroom")
def refresh_headroom(*, farm_id: int) -> None:
    """Work out how many more birds could come, and a few days more with others planned anew; goes on until all are.

    A farm deleted meanwhile is no error.
    """
    from farm.errors import NotFound
    from farm.services import headroom

    try:
        headroom.refresh(farm_id=farm_id, now=clock.now())
        if headroom.refine(farm_id=farm_id, now=clock.now):
            refresh_headroom.apply_async(kwargs={"farm_id": farm_id}, retry=False)
    except NotFound:
        log.info("farm %s is gone, no headroom", farm_id)


@app.task(base=Job, name="fetch_forecast")
def fetch_forecast(*, farm_id: int) -> None:
    """Ask the weather service for one farm, if it wants that and it is time. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services import forecasting

    try:
        if forecasting.fetch(farm_id=farm_id, now=clock.now()):
            refresh_alerts.delay(farm_id=farm_id)
    except NotFound:
        log.info("farm %s is gone, no forecast", farm_id)


@app.task(base=Job, name="fetch_forecasts")
def fetch_forecasts() -> int:
    """Send a job for every farm that wants a forecast and return how many."""
    from farm.services import forecasting

    ids = [farm_id for farm_id in _farm_ids() if forecasting.wants(farm_id)]
    for farm_id in ids:
        fetch_forecast.delay(farm_id=farm_id)
    return len(ids)


@app.task(base=Job, name="refresh_alerts")
def refresh_alerts(*, farm_id: int) -> None:
    """Raise and withdraw a farm's alerts, then write to its keepers. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services import alerts

    try:
        if alerts.refresh(farm_id=farm_id, now=clock.now()):
            write_alerts.delay(farm_id=farm_id)
    except NotFound:
        log.info("farm %s is gone, no alerts", farm_id)


@app.task(base=Job, name="refresh_rota")
def refresh_rota(*, farm_id: int) -> None:
    """Work out anew who does what, where a farm has a rota. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services import rota

    try:
        rota.refresh(farm_id=farm_id, now=clock.now(), polish_seconds=ROTA_POLISH_SECONDS)
    except NotFound:
        log.info("farm %s is gone, no rota", farm_id)


@app.task(base=Job, name="write_alerts")
def write_alerts(*, farm_id: int) -> None:
    """Write to a farm's keepers about alerts nobody was told of, and about those that no longer hold."""
    from farm.web.alerts import letters

    letters.send(farm_id=farm_id, now=clock.now())
