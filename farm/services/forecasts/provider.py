"""What any weather service is asked, what it answers, and how it fails."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Reading:
    """Temperatures over [at, until) in °C: the lowest and highest of that time; an instant has both alike."""

    at: datetime
    until: datetime
    low_c: float
    high_c: float


@dataclass(frozen=True, slots=True)
class Got:
    """A forecast. readings: by time; they may overlap. expires: before it the service has nothing newer."""

    readings: tuple[Reading, ...]
    expires: datetime | None = None


class NoForecast(Exception):
    """A service that gave none. why: a key of `queries.forecasts.WHY`. wait: what it asked for, None when nothing."""

    def __init__(self, why: str, wait: timedelta | None = None) -> None:
        super().__init__(why)
        self.why, self.wait = why, wait


class Provider(Protocol):
    """A weather service."""

    def fetch(self, latitude: float, longitude: float, now: datetime) -> Got:
        """Return the forecast for a place, degrees. Raises NoForecast, and nothing else."""
