"""The core of a sentence, its names, day and note already taken out: what happened, or what was seen. Pure."""

from __future__ import annotations

import math
import re
from datetime import date

from farm import units
from farm.phrase import N_, Phrase
from farm.web.quick import words
from farm.web.quick.sentence import NotUnderstood, Sentence

UNKNOWN = Phrase(N_("That was not understood. Write it like one of the examples; nothing was recorded."))
_NO_DAY = date.min  # the caller knows the day
_MOST = 10**6

_N = r"(?P<n>\d{1,7}|" + "|".join(words.NUMBERS) + r")"
_BIRDS = r"(?:\s*(?:more\s+)?(?:birds?|chicks?|poults?|ducklings?|goslings?|keets?|ducks?|hens?|pullets?))?"
_COUNT = "|".join(words.COUNTS)
_COUNTS = (
    re.compile(rf"{_N}{_BIRDS}\s+(?:were\s+|was\s+|have\s+|has\s+|is\s+|are\s+)?(?P<what>{_COUNT})"),
    re.compile(rf"(?:i\s+|we\s+)?(?P<what>{_COUNT})\s*:?\s+{_N}{_BIRDS}"),
)
_MOVES = (
    re.compile(
        rf"(?:i\s+|we\s+)?(?:moved?|moving)\s+(?:{_N}|(?P<all>all|them all|them|everybody|the rest)){_BIRDS}"
    ),
    re.compile(rf"{_N}{_BIRDS}\s+(?:were\s+|have\s+)?moved"),
)
_NUMBER = r"(?P<value>-?\d{1,6}(?:[.,]\d{1,3})?)"
_UNIT = r"(?P<unit>" + "|".join(sorted(map(re.escape, words.UNITS), key=len, reverse=True)) + r")"
_SAMPLE = r"(?:\s*\(?\s*(?:of\s+|from\s+|mean of\s+)?(?P<sample>\d{1,5})\s*(?:birds?|chicks?)\s*\)?)?"
_WEIGHTS = (
    re.compile(
        rf"(?:they\s+)?(?:weigh|weighs|weighed|weight|weights|mean weight)\s*:?\s+{_NUMBER}\s*{_UNIT}?{_SAMPLE}"
    ),
    re.compile(rf"(?P<sample>\d{{1,5}})\s*(?:birds?|chicks?)\s+(?:weigh|weighed)\s+{_NUMBER}\s*{_UNIT}?"),
)
_TEMPERATURES = (
    re.compile(rf"(?:it is\s+|temp(?:erature)?\s*(?:is|was|:)?\s*){_NUMBER}\s*{_UNIT}?"),
    re.compile(rf"{_NUMBER}\s*{_UNIT}"),
)
_FEEDS = (
    re.compile(rf"{_NUMBER}\s*{_UNIT}\s+(?:of\s+)?feed\s+left"),
    re.compile(rf"feed\s+left\s*:?\s*{_NUMBER}\s*{_UNIT}?"),
)


def read(core: str, system: str) -> Sentence | NotUnderstood:
    """Return what the core says, its day still open, or why it was not understood.

    core: small letters, single blanks, no names. system: the farm's units.
    """
    if core in words.COUNTS:
        return NotUnderstood(Phrase(N_("Say how many, for example: 3 died.")))
    for reader in (_count, _move, _weight, _feed, _temperature):
        found = reader(core, system)
        if found is not None:
            return found
    return _behaviour(core)


def _count(core: str, system: str) -> Sentence | NotUnderstood | None:
    hit = _first(_COUNTS, core)
    if hit is None:
        return None
    kind, birds = words.COUNTS[hit["what"]], _whole(hit["n"])
    return Sentence(verb="count", kind=kind, birds=birds, assumed=hit["what"] in words.LOOSE, day=_NO_DAY)


def _move(core: str, system: str) -> Sentence | NotUnderstood | None:
    hit = _first(_MOVES, core)
    if hit is None:
        return None
    return Sentence(verb="move", kind="move", birds=_whole(hit["n"]) if hit["n"] else None, day=_NO_DAY)


def _weight(core: str, system: str) -> Sentence | NotUnderstood | None:
    hit = _first(_WEIGHTS, core)
    if hit is None:
        return None
    sample = int(hit["sample"]) if hit["sample"] else None
    return _measured("weight", hit["value"], hit["unit"], system, ("g", "kg"), sample)


def _feed(core: str, system: str) -> Sentence | NotUnderstood | None:
    hit = _first(_FEEDS, core)
    return _measured("feed_left", hit["value"], hit["unit"], system, ("kg", "g")) if hit else None


def _temperature(core: str, system: str) -> Sentence | NotUnderstood | None:
    hit = _first(_TEMPERATURES, core)
    if hit is None:
        return None
    if hit["unit"] and words.UNITS[hit["unit"]][0] != "degC":
        return NotUnderstood(Phrase(N_("Say what was weighed: weigh 410 g (10 birds), or 2 kg feed left.")))
    return _measured("temperature", hit["value"], hit["unit"], system, ("degC",))


def _measured(
    kind: str, typed: str, unit: str | None, system: str, allowed: tuple[str, ...], birds: int | None = None
) -> Sentence | NotUnderstood:
    """Return an observation with its value in the first unit of `allowed`; without a unit in the farm's own."""
    si, of_system = words.UNITS[unit] if unit else (allowed[0], "")
    if si not in allowed:
        return NotUnderstood(Phrase(N_("%(unit)s does not fit here."), {"unit": unit or ""}))
    value = units.stored(float(typed.replace(",", ".")), si, of_system or system)
    if si != allowed[0]:
        value = value * 1000 if si == "kg" else value / 1000
    if not math.isfinite(value):
        return NotUnderstood(UNKNOWN)
    # "1,200" is a decimal to some and a thousand to others.
    doubtful = not of_system or re.fullmatch(r"-?\d{1,3},\d{3}", typed) is not None
    return Sentence(verb="see", kind=kind, value=round(value, 3), birds=birds, assumed=doubtful, day=_NO_DAY)


def _behaviour(core: str) -> Sentence | NotUnderstood:
    """Return the behaviour whose words are in the core. What is denied is not recorded as seen.

    It is `assumed` where the words are loose ("cold") or others are left over.
    """
    core = re.sub(r"[,;.!?]+", " ", core)
    said, rest = _said(core)
    if any(char.isdigit() for char in rest) or any(_has(word, rest) for word in words.ACTS):
        return NotUnderstood(UNKNOWN)  # something else was done as well: not to be recorded by half
    if any(word in words.NOT or word.endswith(("n't", "n’t")) for word in core.split()):
        text = N_("That says what is not so. Write what they do, for example: spread out.")
        return NotUnderstood(Phrase(text) if said else UNKNOWN)
    if len(said) != 1:
        return NotUnderstood(UNKNOWN)
    sure = not words.LOOSE & set(core.split()) and not set(rest.split()) - words.FILL
    return Sentence(verb="see", kind="behaviour", word=said[0], assumed=not sure, day=_NO_DAY)


def _said(core: str) -> tuple[list[str], str]:
    """Return the behaviours the core speaks of, and what is left of it. Words that one saying used up are gone."""
    found, rest = list[str](), core
    for sayings, key in words.BEHAVIOURS:
        for saying in sorted(sayings, key=len, reverse=True):
            rest, hits = re.subn(_whole_word(saying), " ", rest)
            if hits and key not in found:
                found.append(key)
    return found, rest


def _first(patterns: tuple[re.Pattern[str], ...], core: str) -> re.Match[str] | None:
    return next((hit for pattern in patterns if (hit := pattern.fullmatch(core))), None)


def _whole_word(saying: str) -> str:
    return rf"(?<!\w){re.escape(saying)}(?!\w)"


def _has(saying: str, text: str) -> bool:
    return re.search(_whole_word(saying), text) is not None


def _whole(typed: str) -> int:
    return words.NUMBERS[typed] if typed in words.NUMBERS else min(int(typed), _MOST)
