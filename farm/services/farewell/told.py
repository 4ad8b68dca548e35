"""Where people are told of by name: the columns that are looked through when somebody is forgotten.

Names of things (`name` of a batch, housing, feed …) are the farm's own words for things and stay. A test asks of every
text column of a farm's models that it is named here or in `UNTOLD`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db.models import JSONField, Model

from farm.models import Change, Farm
from farm.services.farewell.rows import of_a_farm
from farm.services.swapping import Swap, rewrite

#: Columns in which anything may be written, of whatever model.
TOLD = frozenset(
    {
        *("note", "notes", "title", "summary", "subject", "body", "reason", "override_reason", "deposit"),
        *("label", "what", "from_whom", "origin", "checklist", "answer", "outline", "extras"),
    }
)
#: Other columns with text, and why nobody is told of in them.
UNTOLD = {
    "name": "a thing's name; a member's own is replaced by itself",
    "customer": "customers are forgotten by themselves",
    "changes before after": "rows of the history and of trials, looked through by their columns",
    "species type breed kind product storage place whereabouts": "what a thing is, and where",
    "source key code uid edition made_of made claim stamps binding noun model verb word": "the program's own words",
    "token_sha256 secret_sha256 digest problem_digest client_key etag key timing": "hashes and keys",
    "content": "programmes and proposals: numbers, and names of customers",
    "problem solution bill plan error proof state": "what the planner works with: numbers of things, not people",
    "sealed_address sealed_secret shown_address nouns trouble headers scopes": "of programs that are told, not people",
    "sealed_body": "answers to programs; the API looks into its own",
    "built_in": "the key of a table",
    "values unfilled days spans": "numbers and days",
    "rounds prefers refuses": "a member's own row is made anew",
    "email address host seen words without modified failure outside": "goes with the member it belongs to",
    "url language zone time_zone units last_client": "the program's own words",
    "light air does sex way round status scope counts who asks face role": "a choice of a list",
    "give_round take_round to_round": "a choice of a list",
    "needs types weekdays delivery_weekdays set_weekdays hatch_weekdays move_weekdays": "choices of a list",
    "repeat exceptions": "rules that repeat",
    "low_mean_c low_sd_c high_mean_c high_sd_c low_shape high_shape": "numbers",
}


def retell(farm: Farm, swap: Swap) -> None:
    """Put the code in place of the names in every column that may tell of people, and in the history's rows."""
    for model, path in of_a_farm().items():
        if columns := told_of(model):
            rewrite(model._default_manager.filter(**{path: farm.pk}), columns, swap)
    rewrite(Change.objects.filter(entry__farm=farm), ("before", "after"), _Rows(swap))


def told_of(model: type[Model]) -> list[str]:
    """Return the columns of a model that are looked through."""
    return [column for column in texts_of(model) if column in TOLD]


def texts_of(model: type[Model]) -> list[str]:
    """Return the columns of a model that hold text, or JSON in which text may stand."""
    return list(_texts(model))


def _texts(model: type[Model]) -> Iterator[str]:
    for field in model._meta.concrete_fields:
        if isinstance(field, JSONField) or field.get_internal_type() in _TEXT:
            yield field.name


_TEXT = frozenset({"CharField", "TextField", "EmailField", "SlugField", "URLField"})


class _Rows:
    """A swap within rows of the history: in the columns that may tell of people, and in no others."""

    def __init__(self, swap: Swap) -> None:
        self.swap = swap

    def of(self, row: Any) -> Any:
        """Return a row as JSON with the code in its texts."""
        if not isinstance(row, dict):
            return row
        return {key: self.swap.of(value) if key in TOLD else value for key, value in row.items()}
