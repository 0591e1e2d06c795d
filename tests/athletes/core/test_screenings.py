"""How a screening stands on a day."""

from datetime import date

from athletes.core.screenings import ScreeningLine, screening_wanting, screening_words

LINE = ScreeningLine(date(2026, 3, 3), date(2027, 3, 3), "Cleo Adeyemi")


def test_it_counts_from_its_day_through_its_last() -> None:
    days = (date(2026, 3, 2), date(2026, 3, 3), date(2027, 3, 3), date(2027, 3, 4))
    assert [LINE.counts_on(day) for day in days] == [False, True, True, False]


def test_it_is_told_in_words_and_a_coach_hears_only_of_what_is_wanting() -> None:
    counting, after = date(2026, 5, 1), date(2027, 3, 4)
    endless = ScreeningLine(date(2026, 3, 3), None, "Cleo Adeyemi")
    assert screening_words(LINE, counting) == "Readiness screening done on 3 Mar 2026, counts until 3 Mar 2027"
    assert screening_words(endless, after) == "Readiness screening done on 3 Mar 2026, without an end"
    assert [screening_wanting(line, counting) for line in (LINE, endless)] == ["", ""]
    assert screening_wanting(LINE, after) == "Readiness screening done on 3 Mar 2026, expired on 3 Mar 2027"
    assert screening_wanting(None, after) == "No readiness screening is noted"
