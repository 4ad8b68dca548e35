"""What may be sent: plain types with limits, so that what no record could hold is refused at its field."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Annotated, Any

from ninja import Field, Schema
from pydantic import AfterValidator, AwareDatetime, ConfigDict, WithJsonSchema

#: No bird here hatched before, or is planned after: project default (judgement); it keeps arithmetic on days safe.
FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2199, 12, 31)


def _writable(text: str) -> str:
    """Refuse what no database holds: the zero character, and halves of characters."""
    if "\x00" in text or any("\ud800" <= character <= "\udfff" for character in text):
        raise ValueError("This has characters that can't be stored.")
    return text


def _known_day(day: date) -> date:
    if not FIRST_DAY <= day <= LAST_DAY:
        raise ValueError(f"Days go from {FIRST_DAY} to {LAST_DAY}.")
    return day


def _known_instant(instant: datetime) -> datetime:
    _known_day(instant.date())
    return instant


def _local_clock(clock: time) -> time:
    if clock.tzinfo is not None:
        raise ValueError("A time of day is the farm's local time: write it without an offset.")
    return clock


Text = Annotated[str, AfterValidator(_writable)]
Day = Annotated[date, AfterValidator(_known_day)]
#: An instant says its offset from UTC: 2026-05-01T07:00:00+02:00.
Instant = Annotated[AwareDatetime, AfterValidator(_known_instant)]
#: A time of day at the farm. JSON Schema's own format "time" asks for an offset (RFC 3339), which these do not have.
Clock = Annotated[
    time,
    AfterValidator(_local_clock),
    WithJsonSchema(
        {"type": "string", "pattern": r"^\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?$", "examples": ["07:00"]}
    ),
]
Id = Annotated[int, Field(ge=1, le=2**63 - 1)]
Whole = Annotated[int, Field(ge=0, le=1_000_000)]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e9, le=1e9)]


class In(Schema):
    """What is sent. A name we do not know is a slip and refused. Fields are of the types above, never plain str."""

    model_config = ConfigDict(extra="forbid")

    def given(self) -> dict[str, Any]:
        """Return the fields that were sent, for a change of just these."""
        return {name: getattr(self, name) for name in self.model_fields_set}


def absent(**details: Any) -> Any:
    """Return the default of a field of a change that need not be sent but can't be null."""
    return Field(default_factory=lambda: None, **details)
