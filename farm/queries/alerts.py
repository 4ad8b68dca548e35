"""A farm's alerts as people read them: open ones in words, and as work for the agenda."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from farm.husbandry.advice.alarms import Alarm
from farm.models import Alert, Farm
from farm.models.weather import AlertKind
from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning.agenda import AgendaAlert
from farm.trade.general import figure

#: The chore of the table that an alert asks for.
JOBS = {AlertKind.COLD: "cold_night", AlertKind.HOT: "hot_day", AlertKind.LOSSES: "losses"}


@dataclass
class Shown:
    """An alert on a page. more: the later days of the same spell; the first speaks for all."""

    alert: Alert
    says: Phrase
    more: list[date]


def standing(farm: Farm, batch_id: int | None = None) -> list[Alert]:
    """Return the open alerts by day, all of a farm's or those of one batch."""
    rows = Alert.objects.filter(farm=farm, withdrawn_at__isnull=True).select_related("batch", "housing")
    return list(rows if batch_id is None else rows.filter(batch_id=batch_id))


def shown(farm: Farm, batch_id: int | None = None) -> list[Shown]:
    """Return the open alerts in words, nights of one batch in one housing and hot days taken together."""
    found: dict[tuple[object, ...], Shown] = {}
    for one in standing(farm, batch_id):
        spell = (one.kind, one.batch_id, one.housing_id, one.pk if one.kind == AlertKind.LOSSES else None)
        if spell in found:
            found[spell].more.append(one.day)
        else:
            found[spell] = Shown(one, words(one), [])
    return list(found.values())


def words(alert: Alert) -> Phrase:
    """Return what an alert says."""
    return Phrase(N_("%(title)s: %(why)s"), {"title": title(alert), "why": why(alert)})


def title(alert: Alert) -> Phrase:
    """Return the short words of an alert."""
    if alert.kind == AlertKind.HOT:
        return Phrase(N_("Hot on %(day)s"), {"day": alert.day})
    assert alert.batch is not None, "cold nights and losses are of a batch"
    if alert.kind == AlertKind.LOSSES:
        return Phrase(N_("%(batch)s, many losses"), {"batch": alert.batch.name})
    place = alert.housing.name if alert.housing else ""
    values: dict[str, Value] = {"batch": alert.batch.name, "place": place, "day": alert.day}
    return Phrase(N_("%(batch)s in %(place)s, cold in the night of %(day)s"), values)


def why(alert: Alert) -> Phrase:
    """Return on what an alert rests."""
    if alert.kind == AlertKind.LOSSES:
        assert alert.batch is not None, "losses are of a batch"
        return Alarm(**alert.values).words(alert.batch.hatch_day)
    if alert.kind == AlertKind.HOT:
        return Phrase(
            N_("%(high)s is forecast. Give shade, moving air and more water; look at the birds at noon."),
            {"high": _degrees(alert.values["high_c"])},
        )
    return Phrase(
        N_(
            "%(low)s is forecast outside; at their age it should not get below %(bears)s outside while they are there."
            " Bring them in, shut the housing or put the heat on."
        ),
        {"low": _degrees(alert.values["low_c"]), "bears": _degrees(alert.values["outside_c"])},
    )


def for_agenda(farm: Farm, batch_id: int | None = None) -> tuple[AgendaAlert, ...]:
    """Return what open alerts ask of the agenda. One query."""
    return tuple(
        AgendaAlert(
            key=alert.key.replace("/", "-"),
            job=JOBS[AlertKind(alert.kind)],
            title=title(alert),
            why=why(alert),
            day=alert.day,
            batch=None if alert.batch_id is None else str(alert.batch_id),
            room=None if alert.housing_id is None else str(alert.housing_id),
            room_name="" if alert.housing is None else alert.housing.name,
            days=days_shown(alert),
        )
        for alert in standing(farm, batch_id)
    )


def _degrees(temp_c: float) -> Quantity:
    return Quantity(temp_c, "degC", 0)


def is_past(alert: Alert, today: date) -> bool:
    """Say whether what an alert is about is over: it then needs no taking back."""
    return (today - alert.day).days >= days_shown(alert)


def days_shown(alert: Alert) -> int:
    """Return for how many days an alert stands: a night or a day for itself, losses for some time."""
    return int(figure("losses", "alarm_shown_days")) if alert.kind == AlertKind.LOSSES else 1
