"""What a calendar is asked to hold, judged before a link is made, a preview shown or a copy given."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings
from django.utils.translation import gettext as _

from calendars import queries
from calendars.choices import Scope
from calendars.editions import USUAL, Edition, Options, for_member
from farm.errors import BadInput
from farm.models import Batch, Housing, Member
from farm.queries import lookup, zone_names


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a calendar is to hold, judged: see `judged`."""

    scope: str
    about: int | None
    language: str
    options: Options

    def edition(self, member: Member) -> Edition:
        """Return the edition a member reads of it."""
        return for_member(member, self.language, self.scope, self.about, self.options)


def judged(
    member: Member,
    scope: str = Scope.MINE,
    language: str = "",
    *,
    housing_id: int | None = None,
    batch_id: int | None = None,
    options: Options = USUAL,
) -> Wanted:
    """Return what a member's calendar is to hold, judged. Raises BadInput by field, NotFound."""
    if scope not in queries.scopes_for(member):
        raise BadInput.at("scope", _("A child's calendar holds what a child may help with."))
    if options.zone and options.zone not in zone_names.known():
        raise BadInput.at("zone", _("There is no such time zone. Type the nearest large city."))
    about = None
    for kind, model, pk in ((Scope.HOUSING, Housing, housing_id), (Scope.BATCH, Batch, batch_id)):
        if scope == kind:
            if pk is None:
                raise BadInput.at(f"{kind}_id", _("Say which one."))
            about = lookup.get(model, farm_id=member.farm_id, pk=pk).pk
    return Wanted(scope, about, _language(language), options)


def _language(asked: str) -> str:
    known = [code for code, _name in settings.LANGUAGES]
    if asked and asked not in known:
        raise BadInput.at("language", _("This language is not offered."))
    return asked or settings.LANGUAGE_CODE
