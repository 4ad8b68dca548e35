"""An agenda item in words for a calendar: what, why, numbers, and cautions that end with their deferral."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from calendars.ics.text import TEXT_CAP
from farm import wording
from farm.phrase import Phrase
from farm.planning.agenda import Item
from farm.trade.cautions import DEFERRAL, cautions
from farm.trade.sources import Source, sources

CAUTION_ROOM = 1300
#: A round comes three times a day for half a year: its cautions have to leave room for the days ahead.
ROUND_CAUTION_ROOM = 450
#: Said in full before all others: what burns a house down or kills.
_FIRST = ("heat_lamp", "cord", "slaughter", "drugs")
_PLACE_FOR_MORE = 60


def step_body(item: Item, system: str, doers: str = "") -> str:
    """Return the body of a step's entry. doers: names of those who do it, besides the reader."""
    what = [f"- {wording.say(line, system)}" for line in item.checklist]
    why = [
        *([_("Who: %s") % doers] if doers else []),
        _("Why: %s") % wording.say(item.why, system),
        *_numbers(item),
        _("Source: %s") % source(item.source_key),
    ]
    return fitted([*why, *([""] if what else []), *what], caution_text(item.cautions))


def fitted(lines: Sequence[str], cautions_said: str) -> str:
    """Return lines and cautions within TEXT_CAP. Lines give way, and say so: a caution cut short could
    mislead.
    """
    room = TEXT_CAP - len(cautions_said) - 2 - _PLACE_FOR_MORE
    kept: list[str] = []
    for number, line in enumerate(lines):
        room -= len(line) + 1
        if room < 0:
            more = len(lines) - number
            kept.append(
                ngettext("… and %d more line on the page", "… and %d more lines on the page", more) % more
            )
            break
        kept.append(line)
    return "\n\n".join(filter(None, ["\n".join(kept), cautions_said]))


def caution_text(keys: Iterable[str], room: int = CAUTION_ROOM) -> str:
    """Return the cautions, each once, and after the last the deferral that is common to all of them.

    What `room` does not hold is named by its title, to be read on the page.
    """
    known = cautions()
    found = [known[key] for key in sorted(dict.fromkeys(keys), key=_rank) if key in known]
    if not found:
        return ""
    full: list[str] = []
    named: list[str] = []
    for caution in found:
        text = _bare(wording.say(Phrase(caution.text)))
        if len(text) <= room:
            full.append(text)
            room -= len(text) + 1
        else:
            named.append(wording.say(Phrase(caution.title)))
    lines = [_("Take care"), *full]
    if named:
        lines.append(_("Read on the page too: %s.") % "; ".join(named))
    return "\n".join([*lines, _("For all of these: %s") % wording.say(Phrase(DEFERRAL))])


def _rank(key: str) -> int:
    return _FIRST.index(key) if key in _FIRST else len(_FIRST)


def source(keys: str) -> str:
    """Return who says so, in words; the labels of unsourced numbers stand for themselves."""
    known = sources()
    return "; ".join(_publication(known.get(key), key) for key in keys.split("; "))


def _publication(found: Source | None, key: str) -> str:
    if found is None:
        return _(key) if key else ""
    return ", ".join(str(part) for part in (found.publisher, found.title, found.year) if part)


def _bare(text: str) -> str:
    """Return a caution without its deferral, which is said once for all."""
    deferral = wording.say(Phrase(DEFERRAL))
    text = text.removesuffix(deferral).rstrip(" ;,")
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _numbers(item: Item) -> list[str]:
    """Return age, time and hands, one line, and the window's last day where there is one."""
    facts: list[str] = []
    if item.age_days is not None and item.age_days >= 0:
        age = {"day": item.age_days, "week": item.age_days // 7 + 1}
        facts.append(_("day %(day)d of age (week %(week)d)") % age)
    if item.minutes:
        facts.append(minutes(item.minutes))
    if item.people > 1:
        facts.append(ngettext("%d person", "%d people", item.people) % item.people)
    facts.append(
        {"adult": _("adults only"), "child": _("a child may help beside an adult")}.get(item.who, "")
    )
    lines = [" · ".join(filter(None, facts))]
    if item.until is not None:
        last = item.until.fromordinal(item.until.toordinal() - 1)
        lines.append(_("Any day until %s.") % wording.day(last))
    return list(filter(None, lines))


def minutes(number: int) -> str:
    """Return "5 min"."""
    return _("%d min") % number


def chore_line(item: Item, title: str, state: str, doers: str = "") -> str:
    """Return one line of a round's checklist: ticked, left out, or open. doers: who does it, besides the reader."""
    box = {"done": "[x]", "skipped": "[-]"}.get(state, "[ ]")
    note = (
        f" ({_('left out')})"
        if state == "skipped"
        else (f", {minutes(item.minutes)}" if item.minutes else "")
    )
    return f"{box} {title}{note}" + (f" · {doers}" if doers else "")
