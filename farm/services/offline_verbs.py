"""What each kind of thing a phone sends does, and what is said when somebody else was quicker."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from django.utils import formats
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import ChoreMark, Member
from farm.models.chore_mark import MarkState
from farm.models.count_entry import CountKind
from farm.queries import own_chores
from farm.services import asks, chores, counts, photos
from farm.services.actor import Actor, local_day
from farm.services.offline_known import Known
from farm.services.shown import Key

if TYPE_CHECKING:
    from farm.services.offline import Sent

Outcome = tuple[str, str]
DONE, ALREADY = "done", "already"


@dataclass(frozen=True, slots=True)
class Prepared:
    """What was made ready before the farm's lock: a picture as a small JPEG, b"" without one; why it was refused."""

    jpeg: bytes = b""
    refused: str = ""


def prepared(sent: Sent) -> Prepared:
    """Make ready what takes long."""
    if not sent.photo:
        return Prepared()
    try:
        return Prepared(photos.small_jpeg(sent.photo))
    except BadInput as refused:
        return Prepared(refused=str(refused))


def do(by: Actor, member: Member, sent: Sent, ready: Prepared, known: Known) -> Outcome:
    """Do what was sent, inside an open transaction under the farm's lock. Raises FarmError."""
    if sent.kind == "died":
        return _died(by, sent)
    called = known.called(sent)
    source, due, round = called.key
    rows = ChoreMark.objects.filter(farm_id=by.farm_id, source=source, due=due, round=round)
    mark = rows.select_related("member", "farm").first()
    if sent.kind == "untick":
        return _untick(by, member, called.key, mark, over_link=known.over_link)
    if sent.kind == "note" and mark is None:
        raise BadInput.at("note", _("It is open again. Tick it together with your note."))
    if sent.kind == "note" and not sent.note.strip():
        raise BadInput.at("note", _("Write the note."))
    if sent.kind == "skip" and not sent.note.strip():
        raise BadInput.at("note", _("Write why it is left out, in a word or two."))
    if sent.kind == "tick" and mark is None:
        wanted = own_chores.asks(by.farm_id, source)
        if lacking := asks.lacking(wanted, note=sent.note, picture=bool(ready.jpeg)):
            raise BadInput.at("note", lacking)
    made = chores.mark(
        by,
        source=source,
        due=due,
        round=round,
        title=called.title,
        state=MarkState.SKIPPED if sent.kind == "skip" else MarkState.DONE,
        note=sent.note,
        client_key=sent.key,
        minutes=called.minutes,
    )
    said = _picture(by, made, ready)
    if mark is None or sent.kind == "note":
        return DONE, said
    return ALREADY, " ".join(filter(None, (_quicker(by, member, mark, note=sent.note), said)))


def _died(by: Actor, sent: Sent) -> Outcome:
    counts.add(
        by,
        batch_id=sent.batch_id,
        kind=CountKind.DIED,
        birds=sent.birds,
        day=by.today,
        housing_id=sent.housing_id,
        note=sent.note,
        client_key=sent.key,
    )
    return DONE, ""


def _untick(by: Actor, member: Member, key: Key, mark: ChoreMark | None, *, over_link: bool) -> Outcome:
    others = mark is not None and mark.member_id != member.pk
    if mark is not None and others and mark.at > by.now:
        return ALREADY, _("%(who)s has done it since, so it stays ticked.") % {
            "who": mark.member or _("Somebody")
        }
    if mark is not None and others and over_link:
        text = _("%(who)s ticked this, so only somebody who is signed in can open it again.")
        raise BadInput.at("", text % {"who": mark.member or _("Somebody")})
    source, due, round = key
    chores.unmark(by, source=source, due=due, round=round)
    return DONE, ""


def _picture(by: Actor, mark: ChoreMark, ready: Prepared) -> str:
    if ready.refused:
        return _("Without its picture: %(why)s") % {"why": ready.refused}
    if ready.jpeg and not photos.keep(by, mark, ready.jpeg):
        return _("It has a picture already, which stays.")
    return ""


def _quicker(by: Actor, member: Member, mark: ChoreMark, *, note: str) -> str:
    """Say who had marked it before: "Mum ticked this at 07:40; your note was kept." """
    local = mark.at.astimezone(ZoneInfo(mark.farm.time_zone))
    same_day = local_day(mark.farm, mark.at) == local_day(mark.farm, by.now)
    said = {
        "who": _("You") if mark.member_id == member.pk else (mark.member or _("Somebody")),
        "when": formats.date_format(local, "TIME_FORMAT" if same_day else "SHORT_DATETIME_FORMAT"),
    }
    done = mark.state == MarkState.DONE
    if note.strip():
        text = (
            _("%(who)s ticked this at %(when)s; your note was kept.")
            if done
            else _("%(who)s left this out at %(when)s; your note was kept.")
        )
    else:
        text = _("%(who)s ticked this at %(when)s.") if done else _("%(who)s left this out at %(when)s.")
    return text % said
