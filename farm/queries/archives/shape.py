"""What an archive is made of: which kinds of rows, which of their columns, and what stays behind and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache

from django.apps import apps
from django.db import models

from farm.models import Farm
from farm.phrase import N_

FORMAT = "featherdays farm"
#: Rises when a column goes, is renamed or means something else (`services.archives.upgrades`). A new column with a
#: default needs no other number: an archive names the columns it has.
SCHEMA = 1

#: Names of the entries of an archive.
ABOUT, SUMS, README = "farm.json", "SHA256SUMS", "README.txt"
ROWS, FILES, TABLES = "rows", "files", "tables"

_SECRET = N_("Secret addresses and passwords open this server. Make new ones where the farm goes.")
_CHANNEL = N_("Where messages go, and messages sent. Each person switches them on again.")
_LOGIN = N_("Logins are their owners', not the farm's. Invite each person again.")
_WORKED_OUT = N_("It is worked out or fetched again from what is in the archive.")
_OUTER = N_("The secret addresses of people's own calendars. The days away read from them come along.")
_RUNNING = N_("It says which program of this server is at work.")
#: Kinds of rows that leave. What is neither here nor in STAYS_BEHIND fails a test: nobody has thought about it yet.
LEAVES = frozenset(
    {
        *("farm", "member", "away", "reminderwishes"),
        *("housing", "rearingprogramme", "programmeversion", "batch", "stay", "countentry", "observation"),
        *("machine", "eggset", "eggentry", "supplier", "intake", "weather", "alert"),
        *(
            "order",
            "orderline",
            "orderseries",
            "filling",
            "hold",
            "orderingrules",
            "settingproposal",
            "lineodds",
        ),
        *("feed", "feedentry", "waitingtime"),
        *("ownchore", "choremark", "markphoto", "postponement"),
        *("rotarules", "assignment", "pin", "swap"),
        *("plan", "historyentry", "change"),
    }
)
#: Kinds of rows, and columns as "kind.field", that never leave, and why.
STAYS_BEHIND: Mapping[str, str] = {
    "member.login": _LOGIN,
    "historyentry.login": _LOGIN,
    "plan.login": _LOGIN,
    "invitation": _SECRET,
    "personallink": _SECRET,
    "calendarlink": _SECRET,
    "apppassword": _SECRET,
    "apitoken": _SECRET,
    "webhook": _CHANNEL,
    "channel": _CHANNEL,
    "notice": _CHANNEL,
    "delivery": _CHANNEL,
    "outercalendar": _OUTER,
    "away.outside": _OUTER,
    "sentkey": N_(
        "What telephones sent to this server, by keys that only it knows. What they recorded comes along."
    ),
    "sentrequest": N_("What programs sent to this server. What they recorded comes along."),
    "reminderclock": _WORKED_OUT,
    "forecast": _WORKED_OUT,
    "headroom": _WORKED_OUT,
    "rotarules.made_of": _WORKED_OUT,
    "rotarules.unfilled": _WORKED_OUT,
    "entryversion": _WORKED_OUT,
    "calendarbody": _WORKED_OUT,
    "todolist": _WORKED_OUT,
    "todoversion": _WORKED_OUT,
    "plan.claim": _RUNNING,
    "farm.is_demo": N_("A farm that was brought is nobody's demo: a fresh demo would replace it."),
    "farm.closing_on": N_("A farm that was brought is open."),
}
#: Columns whose octets are entries of their own, and the ending of those.
AS_FILES: Mapping[str, str] = {"markphoto.jpeg": "jpg"}


@cache
def of_a_farm() -> tuple[type[models.Model], ...]:
    """Return every model whose rows belong to a farm, of any app, each after those it points to."""
    found: dict[type[models.Model], None] = {Farm: None}
    left = [model for model in apps.get_models() if model is not Farm]
    while True:
        grown = [model for model in left if any(target in found for _field, target in links(model))]
        if not grown:
            return _in_order(tuple(found))
        found |= dict.fromkeys(grown)
        left = [model for model in left if model not in found]


@cache
def exported() -> Mapping[str, type[models.Model]]:
    """Return the models whose rows leave, by noun, each after those it points to."""
    return {noun(model): model for model in of_a_farm() if noun(model) in LEAVES}


def noun(model: type[models.Model]) -> str:
    """Return how an archive names the kind of a row: as the history does."""
    return str(model._meta.model_name)


def links(model: type[models.Model]) -> Iterator[tuple[models.Field, type[models.Model]]]:
    """Yield the foreign keys of a model with what they point to."""
    for field in model._meta.concrete_fields:
        if field.is_relation and field.related_model is not None:
            yield field, field.related_model


@cache
def columns(name: str) -> Mapping[str, models.Field]:
    """Return the columns of a noun that leave, by their name in the database. The farm's number is understood."""
    model = exported()[name]
    return {
        field.attname: field
        for field in model._meta.concrete_fields
        if f"{name}.{field.name}" not in {**STAYS_BEHIND, **AS_FILES} and not _is_the_farm(field)
    }


@cache
def left_behind(name: str) -> Mapping[str, models.Field]:
    """Return the columns of a noun that do not leave, by their name in the database."""
    return {
        field.attname: field
        for field in exported()[name]._meta.concrete_fields
        if f"{name}.{field.name}" in STAYS_BEHIND
    }


def _is_the_farm(field: models.Field) -> bool:
    return field.is_relation and field.related_model is Farm


def _in_order(found: tuple[type[models.Model], ...]) -> tuple[type[models.Model], ...]:
    placed: dict[type[models.Model], None] = {}
    waiting = sorted(found, key=lambda model: model._meta.label_lower)
    while waiting:
        ready = [
            model
            for model in waiting
            if all(to in placed or to is model or to not in found for _field, to in links(model))
        ]
        assert ready, "models point to each other in a ring"
        placed |= dict.fromkeys(ready)
        waiting = [model for model in waiting if model not in placed]
    return tuple(placed)
