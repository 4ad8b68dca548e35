"""A form opened before somebody else's change must not overwrite it unseen."""

from __future__ import annotations

from django.utils.translation import gettext as _

from farm.errors import Stale
from farm.models import Change
from farm.models.owned import Versioned


def check(row: Versioned, expected_version: int | None) -> None:
    """Raise Stale, saying what changed since, when the row is not at `expected_version`.

    None: the caller saw no form.
    """
    if expected_version is None or row.version == expected_version:
        return
    since = Change.objects.filter(
        entry__farm_id=row.farm_id, model=row._meta.model_name, row=row.pk
    ).select_related("entry__member")
    lines = [
        _("%(who)s: %(what)s")
        % {"who": change.entry.member or _("Featherdays"), "what": change.entry.summary}
        for change in since
        if change.after and change.after.get("version", 0) > expected_version
    ]
    raise Stale(
        _(
            "Somebody changed this while you had it open. Nothing was overwritten; look again and save once more."
        ),
        changes=lines,
        version=row.version,
    )
