"""Random acts of a gym through its services, on a clock that only the walk moves."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from random import Random

import time_machine

from athletes.models import Athlete, Caution, Gym, Membership
from gymtrack.lib.ids import new_id
from skills.core.criteria import AllOf, AnyOf, Criterion, parse, to_data
from skills.core.criterion_fit import misfits
from skills.core.entries import ASSISTANCES, Result
from skills.models import Attempt, BarCheck, SignOff, Step
from skills.queries.books import Book, StepPage, book_of
from skills.queries.criteria import fit_of
from skills.queries.standings import sign_off_queue
from skills.services.attempts import AttemptEntry, AttemptRefusedError, log_attempt, void_attempt
from skills.services.cautions import enter_caution, lift_caution
from skills.services.criteria import SameCriterion, adopt_criterion
from skills.services.gyms import change_gym
from skills.services.imports import ReadyRow, import_attempts
from skills.services.library import touch_rules
from skills.services.readiness import rebuild_athlete
from skills.services.sign_offs import Decision, SignOffRefusedError, sign_off
from tests.strategies import deal_criterion

STEPS = ("pullover-1", "pullover-2", "pullover-3", "pullover-3a", "pullover-5a", "toes-2", "pull-up-1")
ZONES = ("Europe/Berlin", "America/New_York", "Europe/Berlin", "Australia/Lord_Howe")
_PAUSES = (
    *(timedelta(microseconds=1), timedelta(), timedelta(minutes=1), timedelta(minutes=20)),
    *(timedelta(hours=5), timedelta(days=1), timedelta(days=3)),
)
_REFUSED = (AttemptRefusedError, SignOffRefusedError, SameCriterion)


class Walk:
    """What one seed does with a gym: attempts, late ones and early ones, voids, decisions, cautions, new criteria."""

    def __init__(self, seed: int, owner: Membership, athletes: Sequence[Athlete], *, import_rows: int = 20) -> None:
        self.random, self.owner, self.athletes, self.import_rows = Random(seed), owner, athletes, import_rows
        self.now = datetime(2026, 1, 12, 18, tzinfo=UTC)
        self.done: Counter[str] = Counter()
        Step.objects.filter(gym=owner.gym, code__in=STEPS).update(angle="between thighs and trunk")
        touch_rules(owner.gym)

    def act(self) -> None:
        """Let some time pass, and do one thing; what the services refuse was no act."""
        usual = {self.log: 30, self.practise: 12, self.void: 7, self.decide: 16, self.revoke: 5, self.caution: 3}
        acts = {**usual, self.lift: 3, self.adopt: 2, self.bring_in: 1, self.move_zone: 1}
        self.now += self.random.choice(_PAUSES)
        (chosen,) = self.random.choices([*acts], weights=[*acts.values()])
        with time_machine.travel(self.now, tick=False):
            try:
                chosen()
            except _REFUSED:
                self.done["refused"] += 1
            else:
                self.done[chosen.__name__] += 1

    def differing(self) -> tuple[str, ...]:
        """Return the codes of all kept timelines that a rebuild would make otherwise, to the byte."""
        with time_machine.travel(self.now, tick=False):
            return tuple(
                code
                for athlete in self.athletes
                for code in rebuild_athlete(book=self.book, athlete=athlete, now=self.now, store=False)
            )

    @property
    def book(self) -> Book:
        return book_of(Gym.objects.get(pk=self.owner.gym_id))

    def log(self) -> None:
        """One try, now, a little ahead of the server's clock, or days late."""
        ago = self.random.choice([-4 * 60, 0, 0, 0, 3600, 86_400, 3 * 86_400, 30 * 86_400])
        self._log(self._page(), self.now - timedelta(seconds=ago), self._result)

    def practise(self) -> None:
        """A good evening and the one before it, at one step."""
        page = self._page()
        for ago in (86_400, 86_400, 0):
            self._log(page, self.now - timedelta(seconds=ago), self._good)

    def void(self) -> None:
        attempts = Attempt.objects.filter(athlete=self._athlete(), void=None).order_by("-happened_at")[:20]
        if attempts:
            void_attempt(by=self.owner, attempt=self.random.choice(attempts), reason="wrong time")

    def decide(self) -> None:
        """Decide what waits, mostly for the athlete."""
        waiting = sign_off_queue(self.book, self.owner.gym, self.now)
        if waiting:
            item = self.random.choice(waiting)
            decision = self.random.choice(["passed", "passed", "passed", "not_yet"])
            self._decide(item.athlete, item.page, item.now.awaits, decision)

    def revoke(self) -> None:
        self._decide(self._athlete(), self._page(), self.random.choice(["entrance", "finish"]), "revoked")

    def caution(self) -> None:
        loads = frozenset({self.random.choice(["hanging", "inversion", "support"])})
        until_at = self.now + timedelta(days=3) if self.random.random() < 0.7 else None
        enter_caution(
            by=self.owner, athlete=self._athlete(), loads=loads, from_at=self.now, until_at=until_at, reason="sore"
        )

    def lift(self) -> None:
        for caution in Caution.objects.filter(athlete=self._athlete(), lifts=None):
            lift_caution(by=self.owner, caution=caution)

    def adopt(self) -> None:
        """Put another criterion into force, which may ask for steps that come before; mostly one that can be met."""
        page = self._page()
        fit = fit_of(self.book, page)
        criterion = self._criterion(page)
        while misfits(to_data(criterion), fit):
            criterion = self._criterion(page)
        adopt_criterion(by=self.owner, step=page, criterion=criterion)

    def bring_in(self) -> None:
        """Bring rows of months ago in."""
        athlete = self._athlete()
        rows = [self._row(athlete) for _ in range(self.import_rows)]
        import_attempts(gym=self.owner.gym, by=self.owner, rows=rows)

    def move_zone(self) -> None:
        change_gym(member=self.owner, name="Harbour Hall", time_zone=self.random.choice(ZONES), units="metric")

    def _athlete(self) -> Athlete:
        return self.random.choice(self.athletes)

    def _page(self) -> StepPage:
        return self.book.steps[self.random.choice(STEPS)]

    def _log(self, page: StepPage, happened_at: datetime, result: Callable[[StepPage], Result]) -> None:
        if page.form.low_bar_check:
            BarCheck.objects.create(gym=self.owner.gym, checked_by=self.owner, bar="low bar", happened_at=happened_at)
        entry = AttemptEntry(
            id=new_id(),
            athlete_id=self._athlete().id,
            step_id=page.id,
            session_id=None,
            happened_at=happened_at,
            source=Attempt.Source(self.random.choice(["judged", "judged", "judged", "counted", "own"])),
            result=result(page),
            closed_reason=self.random.choice(["", "", "", "shows it to the class"]),
        )
        log_attempt(by=self.owner, entry=entry)

    def _good(self, page: StepPage) -> Result:
        grade, angle = page.form.grades, self.random.choice([None, 90])
        if page.form.is_hold:
            return Result(hold_tenths=200, reps=3, grade=grade, angle_degrees=angle)
        return Result(hold_tenths=None, reps=8, grade=grade, angle_degrees=angle)

    def _result(self, page: StepPage) -> Result:
        """A try of any kind: short, long, with a fault, with help, with pain."""
        choose = self.random.choice
        tenths = choose([19, 20, 49, 50, 199, 200]) if page.form.is_hold else None
        faults = tuple(sorted(page.form.faults)[:1]) if choose([False, False, False, True]) else ()
        return replace(
            self._good(page),
            hold_tenths=tenths,
            reps=choose([1, 1, 2, 3]),
            faults=faults,
            assistance=choose(["none", "none", "none", *ASSISTANCES]),
            pain=choose([False] * 29 + [True]),
            angle_degrees=choose([None, 60, 89, 90, 120]),
        )

    def _row(self, athlete: Athlete) -> ReadyRow:
        page = self._page()
        happened_at = self.now - timedelta(days=self.random.choice([1, 2, 3, 60, 90, 300]))
        result = replace(self._result(page), pain=False, angle_degrees=None)
        return ReadyRow(athlete.id, page, happened_at, result, "judged", "", happened_at.date())

    def _decide(self, athlete: Athlete, page: StepPage, gate: str, decision: str) -> None:
        passed = decision == "passed"
        clearance = self.random.choice(["spotted", "present", "alone"]) if passed else ""
        reason = "" if passed else "as seen today"
        given = Decision(SignOff.Gate(gate), SignOff.Decision(decision), clearance, reason, risk_notes_read=True)
        sign_off(by=self.owner, athlete=athlete, step=page, decision=given)

    def _criterion(self, page: StepPage) -> Criterion:
        order = self.book.rules.order
        earlier = [code for code in order[: order.index(page.code)] if code in STEPS]
        dealt = deal_criterion(self.random.choice, earlier, 2)
        best = parse({"best": {"seconds": 5} if page.form.is_hold else {"reps": 1}})
        return self.random.choice([dealt, AnyOf((dealt, best)), AllOf((best, dealt)), best])
