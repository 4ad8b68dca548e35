"""Weather services: what is asked of any, and the one that is built in."""

from farm.services.forecasts.provider import Got, NoForecast, Provider, Reading
from farm.services.forecasts.service import Locationforecast

__all__ = ["Got", "Locationforecast", "NoForecast", "Provider", "Reading"]
