"""The course of one athlete at one step: each thing that matters, as the spans over which it holds.

From here the standing at any moment is a look-up, and the timeline is the look-up at every edge.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from skills.core.counted import Counted, Pause, counted_attempts, open_spans, pauses
from skills.core.facts import Clearance, History, SignOff
from skills.core.gathering import Gathering, gather
from skills.core.rechecks import recheck_spans
from skills.core.signoffs import Decisions, granted
from skills.core.spans import FOREVER, NEVER, SINCE_EVER, Span, Spans, all_hold, any_holds
from skills.core.steps import Rules, StepRule
from skills.core.timeline import Awaits, Base, Change, State, Timeline


@dataclass(frozen=True, slots=True)
class Version:
    """One version of the criterion, when it is in force, and what has been gathered for it."""

    number: int
    in_force: Spans
    gathering: Gathering

    @property
    def met(self) -> Spans:
        """When this version is in force and met."""
        return self.gathering.met & self.in_force


@dataclass(frozen=True, slots=True)
class Leading:
    """How the required steps stand."""

    passed: Spans  # every one of them passed
    standing: Spans  # every one of them passed, or due for a recheck
    trouble: Spans  # at least one of them in trouble

    @classmethod
    def to(cls, step: StepRule, parents: Mapping[str, Timeline]) -> "Leading":
        """Read it from the timelines of the steps that lead to a step."""
        required = [parents[code] for code in step.requires]
        return cls(
            all_hold(each.spans_where(lambda change: change.base == "passed") for each in required),
            all_hold(each.spans_where(lambda change: change.base in ("passed", "recheck")) for each in required),
            any_holds(each.spans_where(lambda change: change.trouble) for each in required),
        )


@dataclass(frozen=True, slots=True)
class Course:
    """What the facts make of one step."""

    step: StepRule
    hazard: bool
    leading: Leading
    entrance: Decisions
    finish: Decisions
    open: Spans
    pauses: tuple[Pause, ...]
    paused: Spans
    versions: tuple[Version, ...]
    ready: Spans
    passed: Spans  # or due for a recheck
    recheck: Spans
    flagged: Mapping[str, frozenset[str]]  # flag → ids of the sign-offs that carry it

    def timeline(self) -> Timeline:
        """Return every change, past and ahead."""
        moments = {0, *(us for us in self._edges() if 0 < us < FOREVER)}
        return Timeline.of(self._change(us) for us in sorted(moments))

    def version_at(self, us: int) -> Version | None:
        """Return the version of the criterion in force."""
        return next((version for version in self.versions if version.in_force.covers(us)), None)

    def _change(self, us: int) -> Change:
        base, flags = self._base(us), self._flags(us)
        state: State = "paused" if base != "closed" and self.paused.covers(us) else base
        trouble = bool(flags) or base == "recheck" or self.finish.revoked(us) or self.leading.trouble.covers(us)
        return Change(
            from_us=us,
            state=state,
            base=base,
            clearance=self._clearance(us, state, trouble=trouble),
            awaits=self._awaits(us, base),
            flags=flags,
            trouble=trouble,
        )

    def _base(self, us: int) -> Base:
        if not self.open.covers(us):
            return "closed"
        if self.passed.covers(us):
            return "recheck" if self.recheck.covers(us) else "passed"
        return "ready" if self.ready.covers(us) else "working"

    def _flags(self, us: int) -> tuple[str, ...]:
        """Name, for an open step, what it rests on and what has changed since."""
        if not self.open.covers(us):
            return ()
        in_force = {each.id for gate in (self.entrance, self.finish) if (each := gate.passed(us))}
        flags = [flag for flag, ids in self.flagged.items() if not ids.isdisjoint(in_force)]
        if not self.leading.standing.covers(us):
            flags.append("prerequisite_fell")
        return tuple(sorted(flags))

    def _clearance(self, us: int, state: State, *, trouble: bool) -> Clearance:
        """Trouble at a hazardous step, or on the way to it, lowers every clearance to spotted."""
        if state in ("closed", "paused") or not self.step.asks_clearance:
            return ""
        clearance = granted(self.entrance, self.finish, us)
        return "spotted" if clearance and trouble and self.hazard else clearance

    def _awaits(self, us: int, base: Base) -> Awaits:
        if base == "closed" and self.step.asks_clearance and self.leading.passed.covers(us):
            return "entrance"
        return "finish" if base == "ready" else ""

    def _edges(self) -> Iterator[int]:
        """Yield every moment at which anything may change."""
        yield from self.entrance.moments()
        yield from self.finish.moments()
        leading = self.leading
        for spans in (
            *(self.open, self.paused, self.ready, self.passed, self.recheck),
            *(leading.passed, leading.standing, leading.trouble),
        ):
            yield from spans.edges()


def course_of(rules: Rules, code: str, history: History, parents: Mapping[str, Timeline]) -> Course:
    """Work out the course at one step; facts of other steps are left aside."""
    step = rules.steps[code]
    sign_offs = [sign_off for sign_off in history.sign_offs if sign_off.step == code]
    openings = [opening for opening in history.openings if opening.step == code]
    entrance, finish = Decisions.at("entrance", sign_offs), Decisions.at("finish", sign_offs)
    opened, paused_by = open_spans(step, openings, entrance.made), pauses(step, history)
    paused = Spans.of(pause.lasting for pause in paused_by)
    attempts = counted_attempts(step, history, rules.zone, opened, paused)
    versions = _versions(step, attempts, rules.zone, parents)
    met = any_holds(version.met for version in versions)
    passings = [*_passings(step, opened & met, finish)]
    return Course(
        step=step,
        hazard=rules.hazard(code),
        leading=Leading.to(step, parents),
        entrance=entrance,
        finish=finish,
        open=opened,
        pauses=paused_by,
        paused=paused,
        versions=versions,
        ready=_ready_spans(finish, versions, met) if step.needs_sign_off else NEVER,
        passed=Spans.of(passings),
        recheck=recheck_spans(step, passings, attempts, rules.zone),
        flagged={
            "evidence_voided": _resting_on_voids(sign_offs, history),
            "not_met_in_hindsight": _never_met(finish, met),
        },
    )


def _versions(
    step: StepRule, attempts: tuple[Counted, ...], zone: str, parents: Mapping[str, Timeline]
) -> tuple[Version, ...]:
    """Each version is in force until the next one begins; of those that begin together, the highest is."""
    versions = sorted(step.criteria, key=lambda version: (version.from_us, version.version))
    ends = [*(version.from_us for version in versions[1:]), FOREVER]
    return tuple(
        Version(
            version.version,
            Spans.of([(version.from_us, end)]),
            gather(version.criterion, attempts, zone, parents),
        )
        for version, end in zip(versions, ends, strict=False)
    )


def _passings(step: StepRule, met_while_open: Spans, finish: Decisions) -> Iterator[Span]:
    """Yield the stretches over which the step is passed, each from its moment of passing on.

    An automatic step passes when its criterion is first met, and that latches; the others are passed as
    long as the latest decision at the finish says so.
    """
    if step.needs_sign_off:
        yield from (span for sign_off, span in finish.stretches() if sign_off.decision == "passed")
    elif (passed_us := met_while_open.first_us()) is not None:
        yield Span(passed_us, FOREVER)


def _ready_spans(finish: Decisions, versions: tuple[Version, ...], met: Spans) -> Spans:
    """Return when a sign-off is due: met, and after a decision met on something later than the decision."""
    first_us = next(finish.moments(), FOREVER)
    return any_holds(
        [
            met & Spans.of([(SINCE_EVER, first_us)]),
            *(
                version.gathering.fresh_after(sign_off.happened_us) & version.in_force & Spans((span,))
                for sign_off, span in finish.stretches()
                if sign_off.decision != "passed"
                for version in versions
            ),
        ]
    )


def _resting_on_voids(sign_offs: list[SignOff], history: History) -> frozenset[str]:
    voided = {void.attempt for void in history.voids}
    return frozenset(sign_off.id for sign_off in sign_offs if not voided.isdisjoint(sign_off.evidence))


def _never_met(finish: Decisions, met: Spans) -> frozenset[str]:
    """Return the sign-offs at whose moment the criterion then in force is not met, as now known."""
    return frozenset(sign_off.id for sign_off in finish.made if not met.covers(sign_off.happened_us))
