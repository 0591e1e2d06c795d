"""Why an athlete stands as they do at a step, at a moment, as it was known then or as it is known now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeVar
from uuid import UUID

from athletes.models import Athlete, Caution
from skills.core.accounts import Account, Hindsight, account_of, hindsight
from skills.core.facts import History
from skills.core.reasons import Verdict
from skills.models import Attempt, AttemptVoid, SignOff
from skills.queries.books import Book, StepPage, book_known_at, book_of
from skills.queries.evidence import remarks_by_commitment
from skills.queries.histories import histories_of

Known = Literal["then", "now"]
Row = TypeVar("Row", Attempt, SignOff, Caution)
MOST_SHOWN: Final = 40


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows that an account speaks of, by id, and the free texts about them, by commitment."""

    attempts: Mapping[str, Attempt]
    voids: Mapping[str, AttemptVoid]  # by attempt
    sign_offs: Mapping[str, SignOff]
    cautions: Mapping[str, Caution]
    remarks: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Shown:
    """The latest attempts of a kind, in order of time, and how many earlier ones are left out."""

    verdicts: tuple[Verdict, ...]
    left_out: int

    @classmethod
    def of(cls, verdicts: tuple[Verdict, ...]) -> Shown:
        """Keep the latest MOST_SHOWN."""
        return cls(verdicts[-MOST_SHOWN:], max(0, len(verdicts) - MOST_SHOWN))


@dataclass(frozen=True, slots=True)
class Why:
    """The account of a step as it was, or is, known; None where the step was not in the gym's book yet.

    `pages` has the steps as they were, or are, taught, and those that came later as they are taught now.
    """

    athlete: Athlete
    page: StepPage
    pages: Mapping[str, StepPage]
    book: Book
    known: Known
    as_of_us: int
    account: Account | None
    hindsight: Hindsight
    counted: Shown
    not_counted: Shown
    rows: Rows


def why_of(athlete: Athlete, code: str, as_of_us: int, known: Known) -> Why:
    """Return why it stands so at a step of the gym's book, in a number of queries that does not grow."""
    now_book, then_book = book_of(athlete.gym), book_known_at(athlete.gym, as_of_us)
    history = histories_of(now_book, [athlete.id])[athlete.id]
    then = _account(then_book, history.known_at(as_of_us), code, as_of_us)
    now = account_of(now_book.rules, history, code, as_of_us)
    account, book = (then, then_book) if known == "then" else (now, now_book)
    counted = Shown.of(account.counted if account else ())
    not_counted = Shown.of(account.not_counted if account else ())
    pages = {**now_book.steps, **book.steps}
    return Why(
        athlete=athlete,
        page=pages[code],
        pages=pages,
        book=book,
        known=known,
        as_of_us=as_of_us,
        account=account,
        hindsight=hindsight(then, now, history, (then_book.rules.steps.get(code), now_book.rules.steps[code])),
        counted=counted,
        not_counted=not_counted,
        rows=rows_of(
            athlete,
            (verdict.attempt.id for verdict in (*counted.verdicts, *not_counted.verdicts)),
            (each.id for each in (account.sign_offs if account else ())),
            (each.id for each in (account.cautions if account else ())),
        ),
    )


def _account(book: Book, history: History, code: str, us: int) -> Account | None:
    return account_of(book.rules, history, code, us) if code in book.steps else None


def rows_of(athlete: Athlete, attempts: Iterable[str], sign_offs: Iterable[str], cautions: Iterable[str]) -> Rows:
    """Read the rows of these facts of an athlete, by their ids, and the texts about them; five queries."""
    gym, ids = athlete.gym_id, {UUID(each) for each in attempts}
    voids = AttemptVoid.objects.filter(gym=gym, attempt__in=ids).select_related("voided_by__person")
    found = (
        _by_id(Attempt.objects.filter(gym=gym, pk__in=ids).select_related("logged_by__person", "session")),
        {str(row.attempt_id): row for row in voids},
        _by_id(SignOff.objects.filter(gym=gym, pk__in={*sign_offs}).select_related("signed_by__person")),
        _by_id(Caution.objects.filter(gym=gym, pk__in={*cautions})),
    )
    about = [UUID(fact_id) for rows in (found[0], *found[2:]) for fact_id in rows]
    return Rows(*found, remarks=remarks_by_commitment(athlete.gym, about))


def _by_id(rows: Iterable[Row]) -> dict[str, Row]:
    return {str(row.pk): row for row in rows}
