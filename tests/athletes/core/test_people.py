from datetime import date, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from athletes.core.people import age_years, last_birth_on_of


@pytest.mark.parametrize(
    ("on", "years", "birth_on"),
    [
        (date(2026, 3, 14), 18, date(2008, 3, 14)),
        (date(2024, 2, 29), 16, date(2008, 2, 29)),
        (date(2024, 2, 29), 18, date(2006, 2, 28)),
        (date(2026, 2, 28), 18, date(2008, 2, 28)),
        (date(2026, 3, 1), 18, date(2008, 3, 1)),
    ],
)
def test_the_last_birth_date_of_an_age(on, years, birth_on):
    assert last_birth_on_of(years, on) == birth_on


@given(on=st.dates(date(1990, 1, 1), date(2110, 12, 31)), years=st.integers(1, 30))
@example(on=date(2024, 2, 29), years=18)
@example(on=date(2026, 2, 28), years=18)
@example(on=date(2026, 3, 1), years=18)
def test_it_divides_those_of_that_age_from_the_younger(on, years):
    last = last_birth_on_of(years, on)
    assert age_years(last, on) >= years
    assert age_years(last + timedelta(days=1), on) < years
