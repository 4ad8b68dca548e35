"""Days to wait against two rules of law, as a keeper would type them; the tool itself knows no medicine."""

from datetime import date, timedelta

import pytest

from farm.husbandry.feeding.waiting import EGGS, MEAT, Wait, holding

X = date(2026, 5, 1)


@pytest.mark.parametrize("product, days", [(MEAT, 14), (EGGS, 12)])
def test_a_wait_ends_on_the_day_the_law_counts_to(product, days):
    """21 CFR 520.1807 [CFR1807]: piperazine, 14 days before slaughter; UK Veterinary Medicines Regulations 2013,
    schedule 4 [VMR2013]: eggs, 8 printed days x 1.5, typed as 12. Refused to the day before, allowed on the day."""
    waits = [Wait(1, X, days, product)]
    refused = [n for n in range(30) if holding(waits, 1, product, X + timedelta(days=n))]
    assert refused == list(range(days))
