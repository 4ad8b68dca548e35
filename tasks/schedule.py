"""What beat starts by itself. Times are UTC; a job asks each farm's own zone what day it is there."""

from __future__ import annotations

from celery.schedules import crontab

from tasks.app import app

# Hourly, not nightly: farms have many midnights, a household's machine is off for some of them, and a job
# lost with its broker is made good within the hour. A farm that is up to date costs a look and no job.
app.conf.beat_schedule = {
    "roll every farm over": {
        "task": "roll_over_all",
        "schedule": crontab(minute="4"),
        "options": {"expires": 3000},
    },
    # Not on the hour, when everybody's machines ask.
    "ask for forecasts": {
        "task": "fetch_forecasts",
        "schedule": crontab(minute="17"),
        "options": {"expires": 3000},
    },
    # Each calendar has an hour of its own, counted from when it was added.
    "read members' own calendars": {
        "task": "read_outer_calendars",
        "schedule": crontab(minute="*/10"),
        "options": {"expires": 500},
    },
    # A plan whose worker died shows a keeper that it waits: not for an hour.
    "take up plans left lying": {
        "task": "take_up_plans",
        "schedule": 60.0,
        "options": {"expires": 50},
    },
    # A reminder may be a minute late, no more; a message whose worker died is taken up again here too.
    "remind whoever is due": {
        "task": "remind_due",
        "schedule": 60.0,
        "options": {"expires": 50},
    },
    # A webhook that did not answer, or whose worker died; the first try goes with the write itself.
    "tell webhooks again": {
        "task": "retry_webhooks",
        "schedule": 60.0,
        "options": {"expires": 50},
    },
    # Once a day by each farm's own calendar; asked for hourly, so that a machine that sleeps at night does it too.
    "say farewells": {
        "task": "say_farewells",
        "schedule": crontab(minute="26"),
        "options": {"expires": 3000},
    },
    # Hourly for the same reason: the job makes one when the last is a day old.
    "back up": {
        "task": "back_up",
        "schedule": crontab(minute="47"),
        "options": {"expires": 3000},
    },
    # Not worth doing late: its age is what it says.
    "leave a sign of life": {
        "task": "sign_of_life",
        "schedule": 60.0,
        "options": {"expires": 50},
    },
    "forget answers to programs": {
        "task": "forget_sent_requests",
        "schedule": crontab(minute="41"),
        "options": {"expires": 3000},
    },
    "clear what has expired": {
        "task": "clear_expired",
        "schedule": crontab(minute="34", hour="2"),
        "options": {"expires": 12 * 3600},
    },
}
