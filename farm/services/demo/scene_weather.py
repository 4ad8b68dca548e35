"""The invented demo farm's climate, by month, in °C: a cool inland place that no station measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

CLIMATE: Mapping[str, Sequence[float]] = {
    "low_mean_c": (-2, -2, 1, 4, 8, 11, 13, 13, 10, 6, 2, -1),
    "low_sd_c": (5, 5, 4, 4, 3.5, 3, 3, 3, 3, 4, 4, 5),
    "high_mean_c": (3, 5, 9, 14, 19, 22, 24, 24, 19, 13, 7, 4),
    "high_sd_c": (4, 4, 5, 5, 5, 4.5, 4.5, 4.5, 4, 4, 4, 4),
}
