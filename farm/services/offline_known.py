"""Which occurrences a member may send: those of the agenda, and those it had once when it was shown to them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput
from farm.models import Assignment, Member
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda, rounds
from farm.services import shown
from farm.services.shown import Key

if TYPE_CHECKING:
    from farm.services.offline import Sent

BACK_DAYS = 30  # how far back the agenda is asked for what no proof came with; project default (judgement)
AHEAD_DAYS = 8  # as far as a chore may be ticked early, and today


@dataclass(frozen=True, slots=True)
class Called:
    """Which occurrence it is, what it is called, and the minutes it is reckoned to take."""

    key: Key
    title: str
    minutes: int


@dataclass
class Known:
    """What one member may send, looked up at most once for a whole request. over_link: only their own chores."""

    member: Member
    today: date
    over_link: bool = False

    def called(self, sent: Sent) -> Called:
        """Return what the occurrence sent is called. Raises BadInput when this member may not speak of it."""
        if sent.due is None or not sent.source:
            raise BadInput.at("", _("This chore is not known. Open the page again."))
        key: Key = (sent.source, sent.due, sent.round)
        if shown.proven(sent.proof, self.member, key, sent.title, sent.minutes):
            return Called(key, sent.title, sent.minutes)
        item = self._items.get(key)
        if item is not None:
            return Called(key, wording.say(item.title, self.member.farm.units), item.minutes)
        given = self._given(key)
        if given is not None:
            return Called(key, sent.title or sent.source, given.minutes)
        if self.over_link:
            raise BadInput.at("", _("This is not one of your chores."))
        raise BadInput.at("", _("This chore is not known. Open the page again."))

    @cached_property
    def _items(self) -> dict[Key, Item]:
        """Return the occurrences of the agenda the member may tick: all of the farm's, over a link their own."""
        past, ahead = (
            Window(self.today - timedelta(days=BACK_DAYS), BACK_DAYS),
            Window(self.today, AHEAD_DAYS),
        )
        if not self.over_link:
            farm = self.member.farm
            return {
                item.occurrence: item
                for window in (past, ahead)
                for item in agenda.for_farm(farm, window, self.today)
            }
        shares = (
            *rounds.of_member(self.member, past, self.today),
            *rounds.of_member(self.member, ahead, self.today),
        )
        return {share.due.item.occurrence: share.due.item for share in shares}

    def _given(self, key: Key) -> Assignment | None:
        """Return the rota's row of it, also of days past: over a link only the member's own."""
        source, due, round = key
        rows = Assignment.objects.filter(farm_id=self.member.farm_id, source=source, due=due, round=round)
        return (rows.filter(member=self.member) if self.over_link else rows).first()
