"""The demo farm: an invented household, dated from the day it is planted."""

from farm.services.demo.plant import Planted, plant

__all__ = ["Planted", "plant"]
