"""Plain sentences to what they say. Pure: no database, no clock; it never raises and never guesses past a word.

The grammar, in any order after the core:

    core      N died | culled | sold | processed | kept back | found | arrived | hatched      "died 3" too
              moved N | all   to HOUSING  (from HOUSING)
              they huddle, panting, spread out ...                                            words.BEHAVIOURS
              31 °C   temp 31   weigh 410 g (10 birds)   2 kg feed left   note: anything
    where     in HOUSING   from BATCH   of BATCH   BATCH: ...
    when      today   yesterday   N days ago   on 2026-05-09
    note      after a comma, semicolon or dash

A sentence with a word left over is not understood as a whole: what was meant is never recorded by half.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from farm import units
from farm.phrase import N_, Phrase
from farm.web.quick import cores
from farm.web.quick.names import BATCH_MARK, HOUSING_MARK, Name, mark
from farm.web.quick.sentence import NotUnderstood, Sentence

MOST_LETTERS = 300
_NOTE_FIRST = re.compile(r"^\s*note\s*[:,]?\s+(?P<note>.+)$|^\s*note\s*:\s*(?P<also>.+)$", re.I | re.S)
_NOTE_AFTER = re.compile(r"^(?P<core>.+?)(?:,\s+|;\s*|\s+[-–—]\s+)(?P<note>.+)$", re.S)
_DAYS_AGO = re.compile(r"\b(\d{1,3}) days? ago\b")
_ISO_DAY = re.compile(r"\b(?:on )?(\d{4}-\d{2}-\d{2})\b")
_STRANGE = re.compile(r"^(?P<core>.+?)\s+(?:in|into|to|from|at|of)\s+(?:the\s+)?(?P<name>.+)$")
_H, _B = HOUSING_MARK, BATCH_MARK


@dataclass(frozen=True, slots=True)
class _Where:
    """The names a sentence gave, and what of it is left. wrong: two names for one thing."""

    rest: str
    batch: str | None = None
    housing: str | None = None
    to: str | None = None
    wrong: bool = False


def parse(
    text: str, known: Sequence[Name], today: date, system: str = units.METRIC
) -> Sentence | NotUnderstood:
    """Return what `text` says, or why it was not understood.

    known: the farm's housing and batches. system: the farm's units; a number without a unit is taken in them and
    marked `assumed`.
    """
    if not text.strip():
        return NotUnderstood(Phrase(N_("Write what happened.")))
    if len(text) > MOST_LETTERS:
        return NotUnderstood(Phrase(N_("That is too long. Write one thing at a time.")))
    written = _NOTE_FIRST.match(text)
    if written:
        note = (written["note"] or written["also"]).strip()
        return Sentence(verb="see", kind="note", day=today, note=note)
    found = _parse(text, "", known, today, system)
    after = _NOTE_AFTER.match(text)
    if isinstance(found, NotUnderstood) and after:
        with_note = _parse(after["core"], after["note"].strip(), known, today, system)
        return with_note if isinstance(with_note, Sentence) else found
    return found


def _parse(text: str, note: str, known: Sequence[Name], today: date, system: str) -> Sentence | NotUnderstood:
    marked = mark(text, known)
    rest, day = _day(marked.text, today)
    if day is None:
        return NotUnderstood(Phrase(N_("There is no such day. Write it like 2026-05-09.")))
    where = _where(rest, marked.names)
    if where.wrong:
        return NotUnderstood(Phrase(N_("That names two places or two batches. Write one thing at a time.")))
    core = " ".join(where.rest.split()).strip(" .!:")
    found = cores.read(core, system)
    if isinstance(found, NotUnderstood):
        return _unknown_name(core, system) or found
    if found.verb == "move" and where.to is None:
        return NotUnderstood(Phrase(N_("Say where to, by a name of your housing: moved 25 to Pen 2.")))
    if found.verb != "move" and where.to is not None:
        return NotUnderstood(cores.UNKNOWN)
    return replace(
        found, day=day, note=note or found.note, batch=where.batch, housing=where.housing, to=where.to
    )


def _unknown_name(core: str, system: str) -> NotUnderstood | None:
    """Say which name is not known, where the sentence would be understood without it."""
    hit = _STRANGE.match(core)
    if hit is None or isinstance(cores.read(hit["core"].strip(), system), NotUnderstood):
        return None
    text = N_("“%(name)s” is not the name of a housing or batch here. Names must be written in full.")
    return NotUnderstood(Phrase(text, {"name": hit["name"]}))


def _day(text: str, today: date) -> tuple[str, date | None]:
    """Take the day out of a sentence; None for a day that does not exist."""
    for word, days in (("yesterday", 1), ("today", 0)):
        if re.search(rf"\b{word}\b", text):
            return re.sub(rf"\b{word}\b", " ", text, count=1), today - timedelta(days=days)
    ago = _DAYS_AGO.search(text)
    if ago:
        return text[: ago.start()] + " " + text[ago.end() :], today - timedelta(days=int(ago[1]))
    iso = _ISO_DAY.search(text)
    if iso:
        try:
            return text[: iso.start()] + " " + text[iso.end() :], date.fromisoformat(iso[1])
        except ValueError:
            return text, None
    return text, today


def _where(text: str, names: Sequence[Name]) -> _Where:
    """Take the names out of a sentence, each with its small word."""
    found, queue, wrong = dict[str, str](), list(names), False

    def take(hit: re.Match[str]) -> str:
        nonlocal wrong
        name = queue.pop(0)
        role = "batch" if not name.housing else "to" if hit["small"] in ("to", "into") else "housing"
        wrong = wrong or role in found
        found[role] = name.key
        return " "

    rest = re.sub(
        rf"(?:\b(?P<small>in|into|to|from|at|of|for)\s+)?(?:\bthe\s+)?(?P<mark>[{_H}{_B}])", take, text
    )
    return _Where(rest, found.get("batch"), found.get("housing"), found.get("to"), wrong)
