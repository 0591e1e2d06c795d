"""The proof of one athlete and one day of the gym, as it was known when the day ended."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Count, Q, QuerySet

from athletes.core.certificates import CertificateLine, Entered, entry_on, line_of
from athletes.core.consents import ConsentLine
from athletes.models import Athlete, AuditHead, Certificate, Consent, Gym
from athletes.queries.consents import consents_at
from athletes.queries.rights import rights_over_time
from skills.core import facts
from skills.core.accounts import Account, Hindsight, accounts_of, hindsight, standings_at
from skills.core.days import local_date, moment_of, moment_us
from skills.core.facts import Caution, History, SignOff
from skills.core.proofs import DaySpan, DayTries, Stretch, cautions_over, stretches, tries_of_day
from skills.core.steps import Rules, StepRule
from skills.models import Attempt, BarCheck, TrainingSession
from skills.queries.books import Book, StepPage, book_known_at, book_of
from skills.queries.histories import histories_of
from skills.queries.whys import Rows, rows_of


@dataclass(frozen=True, slots=True)
class StepOfDay:
    """A step for which there was a clearance that day, or that was practised or decided about.

    `account` is as known when the day ended, None for a step that came into the book later. `revoked` are the
    revocations since.
    """

    page: StepPage
    rule: StepRule | None  # then
    stretches: tuple[Stretch, ...]
    account: Account | None
    tries: DayTries | None
    decided: bool
    hindsight: Hindsight
    revoked: tuple[SignOff, ...]

    @property
    def cleared(self) -> bool:
        """Whether there was a clearance in force at any moment of the day."""
        return any(stretch.clearance for stretch in self.stretches)

    @property
    def practised(self) -> bool:
        """Whether there were attempts or decisions."""
        return self.tries is not None or self.decided

    @property
    def in_force(self) -> tuple[SignOff, ...]:
        """The decisions that stood when the day ended."""
        account = self.account
        return tuple(each for each in account.sign_offs if each.id in account.in_force) if account else ()


@dataclass(frozen=True, slots=True)
class SessionOfDay:
    """A class that the athlete was in: how many athletes were present, how many coaches led or logged."""

    name: str
    starts_at: datetime
    coach_id: UUID
    coach: str
    athletes: int
    coaches: int


@dataclass(frozen=True, slots=True)
class StaffOfDay:
    """Somebody who led, logged or decided, with rights at that moment and certificates on that day.

    `rights` is None where nothing is recorded about them; `sign_off_skills` are the slugs of the skills for which the
    right to sign off held, None for every skill. `certificates` names each kind, with None where it was
    never entered.
    """

    name: str
    acts: tuple[str, ...]
    on: date
    rights: frozenset[str] | None
    sign_off_skills: frozenset[str] | None
    certificates: tuple[tuple[str, CertificateLine | None], ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """Everything that the print of a day says; nothing in it is guessed."""

    athlete: Athlete
    span: DaySpan
    book: Book
    pages: Mapping[str, StepPage]  # as taught then, and those that came later
    steps: tuple[StepOfDay, ...]
    attempts: Mapping[str, facts.Attempt]  # all of the athlete's, by id: what decisions rest on
    rows: Rows
    staff: tuple[StaffOfDay, ...]
    sessions: tuple[SessionOfDay, ...]
    bar_checks: tuple[BarCheck, ...]
    consents: tuple[tuple[str, ConsentLine | None], ...]  # each kind; None = nobody said anything
    cautions: tuple[Caution, ...]
    chain_length: int
    chain_seal: str


def proof_of(athlete: Athlete, day: date, now: datetime) -> Proof:
    """Return the proof of a day that has begun, in a number of queries that does not grow with the records."""
    gym = athlete.gym
    span = DaySpan.of(day, gym.time_zone, moment_us(now))
    now_book, then_book = book_of(gym), book_known_at(gym, span.to_us)
    history = histories_of(now_book, [athlete.id])[athlete.id]
    steps = tuple(_steps(now_book, then_book, history, span))
    cautions = tuple(cautions_over(history, span))
    decisions = {each.id for step in steps for each in (*step.in_force, *step.revoked)}
    rows = rows_of(athlete, (), decisions, (each.id for each in cautions))
    logged = list(_logged(athlete, span))
    sessions = tuple(_sessions(athlete, logged, span))
    head = AuditHead.objects.get(gym=gym)
    return Proof(
        athlete=athlete,
        span=span,
        book=then_book,
        pages={**now_book.steps, **then_book.steps},
        steps=steps,
        attempts={each.id: each for each in history.attempts},
        rows=rows,
        staff=tuple(_staff(gym, _acts(steps, rows, sessions, logged))),
        sessions=sessions,
        bar_checks=tuple(_bar_checks(gym, span)),
        consents=tuple(_consents(athlete, moment_of(span.to_us))),
        cautions=cautions,
        chain_length=head.length,
        chain_seal=head.seal,
    )


def _steps(now_book: Book, then_book: Book, history: History, span: DaySpan) -> Iterator[StepOfDay]:
    known, rules = history.known_at(span.to_us), then_book.rules
    tries = tries_of_day(history, span)
    decided = {each.step for each in history.sign_offs if span.holds(each.happened_us)}
    standings = standings_at(rules, known, rules.order, span.to_us)
    over = {code: stretches(standing.timeline, span) for code, standing in standings.items()}
    cleared = {code for code, parts in over.items() if any(part.clearance for part in parts)}
    codes = [code for code in now_book.steps if code in cleared | decided | tries.keys()]
    then = accounts_of(rules, known, [code for code in codes if code in rules.steps], span.to_us)
    now = accounts_of(now_book.rules, history, codes, span.to_us)
    for code in codes:
        yield StepOfDay(
            page=then_book.steps.get(code) or now_book.steps[code],
            rule=rules.steps.get(code),
            stretches=over.get(code, ()),
            account=then.get(code),
            tries=tries.get(code),
            decided=code in decided,
            hindsight=hindsight(then.get(code), now[code], history, _rules(rules, now_book.rules, code)),
            revoked=tuple(_revoked_since(history, code, span)),
        )


def _rules(then: Rules, now: Rules, code: str) -> tuple[StepRule | None, StepRule]:
    return then.steps.get(code), now.steps[code]


def _revoked_since(history: History, code: str, span: DaySpan) -> Iterator[SignOff]:
    for each in sorted(history.sign_offs, key=lambda each: (each.happened_us, each.id)):
        if each.step == code and each.decision == "revoked" and each.happened_us > span.to_us:
            yield each


def _logged(athlete: Athlete, span: DaySpan) -> QuerySet[Attempt]:
    """Return who logged the attempts of the day, with their class; those taken back are left out."""
    rows = Attempt.objects.filter(gym=athlete.gym_id, athlete=athlete, void=None, **_within(span, "happened_at"))
    return rows.select_related("logged_by__person").order_by("happened_at", "pk")


def _within(span: DaySpan, field: str) -> dict[str, datetime]:
    return {f"{field}__gte": moment_of(span.from_us), f"{field}__lte": moment_of(span.to_us)}


def _sessions(athlete: Athlete, logged: Collection[Attempt], span: DaySpan) -> Iterator[SessionOfDay]:
    present = Q(attendances__athlete=athlete, **_within(span, "starts_at"))
    mine = TrainingSession.objects.filter(present | Q(pk__in={row.session_id for row in logged}), gym=athlete.gym_id)
    rows = TrainingSession.objects.filter(gym=athlete.gym_id, pk__in=mine.order_by().values("pk"))
    heads = rows.annotate(athletes=Count("attendances")).select_related("coach__person").order_by("starts_at", "pk")
    coaches: dict[UUID, set[UUID]] = {row.id: {row.coach_id} for row in heads}
    tried = Attempt.objects.filter(gym=athlete.gym_id, session__in=coaches.keys(), void=None).exclude(source="own")
    for session_id, logger_id in tried.order_by().values_list("session", "logged_by").distinct():
        coaches[session_id].add(logger_id)
    for row in heads:
        coach = row.coach.person.full_name
        yield SessionOfDay(row.name, row.starts_at, row.coach_id, coach, row.athletes, len(coaches[row.id]))


def _consents(athlete: Athlete, moment: datetime) -> Iterator[tuple[str, ConsentLine | None]]:
    said = consents_at([athlete.id], moment, moment)[athlete.id]
    for kind in Consent.Kind:
        yield str(kind.label), said.get(str(kind))


def _bar_checks(gym: Gym, span: DaySpan) -> QuerySet[BarCheck]:
    rows = BarCheck.objects.filter(gym=gym, **_within(span, "happened_at"))
    return rows.select_related("checked_by__person").order_by("happened_at", "pk")


@dataclass(frozen=True, slots=True)
class _Act:
    """What somebody of the staff did, and when."""

    member_id: UUID
    name: str
    what: str
    at: datetime


def _acts(
    steps: Collection[StepOfDay], rows: Rows, sessions: Collection[SessionOfDay], logged: Collection[Attempt]
) -> Iterator[_Act]:
    for session in sessions:
        yield _Act(session.coach_id, session.coach, f"led {session.name}", session.starts_at)
    for attempt in logged:
        if attempt.logged_by.is_staff_member:
            yield _Act(attempt.logged_by_id, attempt.logged_by.person.full_name, "logged attempts", attempt.happened_at)
    for step in steps:
        for each in step.in_force:
            row = rows.sign_offs[each.id]
            yield _Act(
                row.signed_by_id,
                row.signed_by.person.full_name,
                f"signed {step.page.skill_name} {step.page.label}",
                row.happened_at,
            )


def _staff(gym: Gym, acts: Iterator[_Act]) -> Iterator[StaffOfDay]:
    """Yield a line for each person, day and set of rights, in the order of the first act."""
    done = sorted(acts, key=lambda act: act.at)
    people = {act.member_id for act in done}
    rights, certificates = rights_over_time(people), _certificates(gym, people)
    lines: dict[tuple[UUID, date, frozenset[str], frozenset[str] | None], list[_Act]] = {}
    for act in done:
        on, held = local_date(moment_us(act.at), gym.time_zone), rights[act.member_id]
        lines.setdefault((act.member_id, on, held.at(act.at), held.skills_at(act.at)), []).append(act)
    for (member_id, on, held_then, skills), theirs in lines.items():
        entries = certificates.get(member_id, {})
        yield StaffOfDay(
            name=theirs[0].name,
            acts=tuple(dict.fromkeys(act.what for act in theirs)),
            on=on,
            rights=held_then if rights[member_id].moments else None,
            sign_off_skills=skills,
            certificates=tuple((str(kind.label), _line(entries, kind, on)) for kind in Certificate.Kind),
        )


def _line(entries: Mapping[str, list[Entered]], kind: Certificate.Kind, on: date) -> CertificateLine | None:
    entry = entry_on(entries.get(str(kind), []), on)
    return line_of(entry, str(kind.label), on) if entry else None


def _certificates(gym: Gym, people: Collection[UUID]) -> Mapping[UUID, Mapping[str, list[Entered]]]:
    """Return what was entered about each of these people, by kind, in one query: days may differ from line to line."""
    found: dict[UUID, dict[str, list[Entered]]] = {}
    for row in Certificate.objects.filter(gym=gym, membership__in=people).order_by("recorded_at", "pk"):
        entered = Entered(row.kind, row.valid_from, row.valid_until)
        found.setdefault(row.membership_id, {}).setdefault(row.kind, []).append(entered)
    return found
