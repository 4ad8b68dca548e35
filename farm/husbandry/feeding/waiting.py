"""Days to wait after a medicine before meat or eggs are eaten or sold.

The keeper types them from the label or as the vet says. The tool knows no medicine, no dose and no days of its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from farm.phrase import N_, Phrase, Value
from farm.trade.general import figure

MEAT, EGGS = "meat", "eggs"
PRODUCTS = (MEAT, EGGS)
#: The caution to be shown beside every wait.
CAUTION = "drugs"


@dataclass(frozen=True, slots=True)
class Wait:
    """Days to wait of one batch, as the keeper typed them.

    from_day: the day it was given last, counted as day 0. product: of PRODUCTS. Raises ValueError for an unknown
    product, or days that are not whole and within 0 to 365.
    """

    batch: int
    from_day: date
    days: int
    product: str = MEAT

    def __post_init__(self) -> None:
        if self.product not in PRODUCTS:
            raise ValueError(f"no such product: {self.product}")
        if type(self.days) is not int or not 0 <= self.days <= figure("medicine", "wait_most_days"):
            raise ValueError("days to wait must be whole and within 0 to 365")

    @property
    def first_allowed(self) -> date:
        """The first day the wait is over."""
        return self.from_day + timedelta(days=self.days)


def holding(waits: Iterable[Wait], batch: int, product: str, day: date) -> Wait | None:
    """Return the wait that forbids a product of a batch on a day, the longest if there are several, or None.

    A wait binds from the day the medicine was given; before that day it is nothing but a plan.
    """
    binding = [
        wait
        for wait in waits
        if wait.batch == batch and wait.product == product and wait.from_day <= day < wait.first_allowed
    ]
    return max(binding, key=lambda wait: wait.first_allowed, default=None)


def refusal(wait: Wait) -> Phrase:
    """Return why a product is refused, and from when it is not."""
    texts = {
        MEAT: (
            N_("Not before %(allowed)s: you wrote %(days)d day to wait for meat, from %(given)s."),
            N_("Not before %(allowed)s: you wrote %(days)d days to wait for meat, from %(given)s."),
        ),
        EGGS: (
            N_("Eggs not before %(allowed)s: you wrote %(days)d day to wait for eggs, from %(given)s."),
            N_("Eggs not before %(allowed)s: you wrote %(days)d days to wait for eggs, from %(given)s."),
        ),
    }
    one, many = texts[wait.product]
    values: dict[str, Value] = {"allowed": wait.first_allowed, "days": wait.days, "given": wait.from_day}
    return Phrase(one, values, plural=many, count="days")
