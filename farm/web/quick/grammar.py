"""What can be written, as pages show it: examples in the farm's own units and with its own names."""

from __future__ import annotations

from collections.abc import Sequence

from farm import units
from farm.models import Farm, Housing
from farm.web.quick import words

#: The names that the examples of `words` use, and the readings said in US customary units instead.
_FIRST, _SECOND = "Brooder 1", "Pen 2"
_US = {"410 g": "14 oz", "31 °C": "88 °F", "2 kg": "4.5 lb"}


def examples(farm: Farm | None = None, child: bool = False) -> list[str]:
    """Return examples that can be written as they stand: on `farm` by the names of its housing. One query.

    farm None: as on the invented farm of the tables. child: only what a child may record.
    """
    shown = words.CHILD_EXAMPLES if child else words.EXAMPLES
    if farm is None:
        return list(shown)
    names = list(Housing.objects.filter(farm=farm).values_list("name", flat=True))
    return [said(example, farm.units, names) for example in shown]


def said(example: str, system: str, names: Sequence[str]) -> str:
    """Return one example in `system`, its places renamed to the first and the last of `names` if there are two."""
    if system == units.US:
        for metric, customary in _US.items():
            example = example.replace(metric, customary)
    if len(names) < 2:
        return example
    return example.replace(_FIRST, "\0").replace(_SECOND, names[-1]).replace("\0", names[0])
