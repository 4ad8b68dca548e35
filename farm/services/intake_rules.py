"""What must hold of an intake, said in words at its fields when it does not."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Intake
from farm.models.batch import Sex
from farm.models.intake import IntakeState, Way
from farm.services import counts, day_rules
from farm.services.actor import local_day

Problems = dict[str, list[object]]


def check(intake: Intake, today: date, *, typed: bool) -> None:
    """Raise BadInput, all fields at once, for an intake about to be saved. typed: its day was typed anew."""
    most = counts.MOST_BIRDS
    between = _("Enter a number from %(low)d to %(high)d.")
    problems: Problems = {"due_on": day_rules.typo(intake.due_on, today) if typed else []}
    if not intake.from_whom:
        problems["from_whom"] = [_("Say where the chicks come from.")]
    if not 1 <= intake.ordered <= most:
        problems["ordered"] = [between % {"low": 1, "high": most}]
    if not 0 <= intake.extras <= most:
        problems["extras"] = [between % {"low": 0, "high": most}]
    elif intake.ordered + intake.extras > most and "ordered" not in problems:
        problems["ordered"] = [_("A batch has %(most)d birds at most.") % {"most": most}]
    if intake.sex not in Sex.values:
        problems["sex"] = [_("Choose whether they are sexed.")]
    if intake.way not in Way.values:
        problems["way"] = [_("Choose how they come.")]
    if intake.hatched_at is not None and local_day(intake.farm, intake.hatched_at) > intake.due_on:
        problems["hatched_at"] = [_("Birds cannot arrive before they hatch.")]
    _raise_any(problems)


def check_arrival(
    intake: Intake,
    now: datetime,
    *,
    at: datetime,
    hatched_at: datetime | None,
    alive: int,
    dead: int,
    weak: int,
) -> None:
    """Raise BadInput, all fields at once, for what was typed of an arrival."""
    problems: Problems = {}
    if at > now + timedelta(minutes=5):
        problems["arrived_at"] = [_("This time is still to come.")]
    else:
        problems["arrived_at"] = day_rules.typo(local_day(intake.farm, at), local_day(intake.farm, now))
    if hatched_at is not None and hatched_at > at:
        problems["hatched_at"] = [_("Birds cannot arrive before they hatch.")]
    for name, number in (("alive", alive), ("dead", dead)):
        if not 0 <= number <= counts.MOST_BIRDS:
            text = _("Enter a number from %(low)d to %(high)d.")
            problems[name] = [text % {"low": 0, "high": counts.MOST_BIRDS}]
    if not 0 <= weak <= max(alive, 0):
        problems["weak"] = [_("The weak ones are among those alive.")]
    if not alive and not dead:
        problems["alive"] = [_("Say how many came. If none did, cancel the intake.")]
    _raise_any(problems)


def is_expected(intake: Intake) -> None:
    """Raise BadInput for an intake that is over."""
    if intake.state == IntakeState.ARRIVED:
        raise BadInput.at(
            "", _("The arrival from %(from)s was already recorded.") % {"from": intake.from_whom}
        )
    if intake.state == IntakeState.CANCELLED:
        raise BadInput.at("", _("The intake from %(from)s was cancelled.") % {"from": intake.from_whom})


def _raise_any(problems: Problems) -> None:
    found = {name: texts for name, texts in problems.items() if texts}
    if found:
        raise BadInput(found)
