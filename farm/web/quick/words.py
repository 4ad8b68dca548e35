"""The words that quick entry knows. Pure data: a keeper's word -> what it means."""

from __future__ import annotations

NUMBERS = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9, "ten": 10, "eleven": 11, "twelve": 12,
}  # fmt: skip

#: word -> kind of count entry.
COUNTS = {
    "died": "died", "dead": "died", "die": "died", "lost": "died",
    "culled": "culled", "cull": "culled",
    "sold": "sold", "sell": "sold",
    "processed": "processed", "slaughtered": "processed", "butchered": "processed",
    "kept back": "kept_back", "kept": "kept_back",
    "found": "found", "arrived": "arrived", "hatched": "hatched",
}  # fmt: skip

#: part of a sentence -> behaviour of the trade table. The first that is found counts, so the narrower come first.
BEHAVIOURS = (
    (("piled this morning", "piled in the morning", "piled at first look", "piled at dawn"), "piled_morning"),
    (("eyes shut", "eyes closed"), "poult_eyes_shut"),
    (("pasty",), "pasty_flapping"),
    (("one side", "draught", "draft", "draughty", "drafty"), "one_side"),
    (
        ("huddle", "huddled", "huddling", "piled", "piling", "pile up", "cold", "shiver", "shivering"),
        "huddled",
    ),
    (
        ("pant", "panting", "gasping", "wings out", "beaks open", "far from the heat", "away from the heat", "hot"),
        "away",
    ),
    (("spread out", "spread", "even", "evenly", "content", "happy", "fine", "all well", "quiet"), "even"),
)  # fmt: skip

#: A sentence with one of these says what is not so; it is never recorded as if it were.
NOT = frozenset({"not", "no", "never", "stopped", "longer", "without", "if", "unless", "nobody", "none"})

#: Words that say more or less than what is recorded: shown first, then recorded.
LOOSE = frozenset(
    {
        "lost",
        "cold",
        "shiver",
        "shivering",
        "hot",
        "content",
        "happy",
        "fine",
        "well",
        "quiet",
        "draught",
        "draft",
    }
)

#: Words beside a behaviour that change nothing.
FILL = frozenset(
    {
        "they", "the", "chicks", "birds", "poults", "ducklings", "goslings", "keets", "are", "is", "all", "and",
        "a", "bit", "very", "near", "under", "heat", "lamp", "to", "eating", "resting", "pushed", "loud", "calls",
        "we", "i", "see", "there", "in", "it",
    }
)  # fmt: skip

#: Words that say that something was done: with one left over, a sentence is about more than a behaviour.
ACTS = (*COUNTS, "move", "moved", "weigh", "weighed", "feed")

#: unit as typed -> (SI unit of `Quantity`, unit system it is of).
UNITS = {
    "°c": ("degC", "metric"), "c": ("degC", "metric"), "celsius": ("degC", "metric"),
    "°f": ("degC", "us"), "f": ("degC", "us"), "fahrenheit": ("degC", "us"),
    "°": ("degC", ""), "deg": ("degC", ""), "degree": ("degC", ""), "degrees": ("degC", ""),
    "g": ("g", "metric"), "gram": ("g", "metric"), "grams": ("g", "metric"), "gr": ("g", "metric"),
    "oz": ("g", "us"), "ounce": ("g", "us"), "ounces": ("g", "us"),
    "kg": ("kg", "metric"), "kilo": ("kg", "metric"), "kilos": ("kg", "metric"),
    "lb": ("kg", "us"), "lbs": ("kg", "us"), "pound": ("kg", "us"), "pounds": ("kg", "us"),
}  # fmt: skip

#: What can be typed, as the pages and the help show it: (sentence, what it does).
EXAMPLES = (
    "3 died",
    "2 culled in Pen 2",
    "sold 5 yesterday",
    "moved 25 to Pen 2",
    "moved all from Brooder 1 to Pen 2",
    "they huddle",
    "panting in Brooder 1",
    "weigh 410 g (10 birds)",
    "31 °C in Brooder 1",
    "2 kg feed left",
    "note: new bedding",
)
CHILD_EXAMPLES = ("they huddle", "31 °C in Brooder 1", "note: water was empty")
