"""Why it stands as it does: the account of one step of one athlete at a moment, and what was learned since.

Pure: the caller chooses what was known by the history and the rules that it gives.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from skills.core.facts import Caution, History, Opening, SignOff
from skills.core.readiness import StepStanding, look_at
from skills.core.reasons import Bearing, Verdict, verdicts_at
from skills.core.signoffs import Decisions
from skills.core.spans import FOREVER
from skills.core.steps import CriterionInForce, Rules, StepRule
from skills.core.timeline import Timeline


@dataclass(frozen=True, slots=True)
class Account:
    """How it stands at one step at a moment, and everything that it rests on.

    ``since_us`` is when the state began, 0 for always. Decisions (``in_force`` has the ids of those that stand),
    openings and cautions (on any load) are those up to that moment, the cautions those in force at it.
    """

    code: str
    as_of_us: int
    standing: StepStanding
    since_us: int
    criterion: CriterionInForce | None
    verdicts: tuple[Verdict, ...]
    sign_offs: tuple[SignOff, ...]
    in_force: frozenset[str]
    openings: tuple[Opening, ...]
    cautions: tuple[Caution, ...]

    @property
    def counted(self) -> tuple[Verdict, ...]:
        """The attempts that counted."""
        return tuple(verdict for verdict in self.verdicts if verdict.counts)

    @property
    def not_counted(self) -> tuple[Verdict, ...]:
        """The attempts that did not count."""
        return tuple(verdict for verdict in self.verdicts if not verdict.counts)


def account_of(rules: Rules, history: History, code: str, as_of_us: int) -> Account:
    """Return the account of a step that the rules hold, evaluating it and the steps that it depends on."""
    return accounts_of(rules, history, [code], as_of_us)[code]


def accounts_of(rules: Rules, history: History, codes: Collection[str], as_of_us: int) -> Mapping[str, Account]:
    """Return the accounts of several steps; the steps that they depend on are evaluated once."""
    standings = standings_at(rules, history, codes, as_of_us)
    return {code: _account(rules, history, code, standings, as_of_us) for code in codes}


def standings_at(rules: Rules, history: History, codes: Collection[str], as_of_us: int) -> Mapping[str, StepStanding]:
    """Return how it stands at these steps and at all that they depend on."""
    facts, bare = history.by_step(), replace(history, attempts=(), openings=(), sign_offs=())
    wanted = _with_ancestors(rules, codes)
    timelines: dict[str, Timeline] = {}
    standings: dict[str, StepStanding] = {}
    for code in (code for code in rules.order if code in wanted):
        standings[code] = look_at(rules, code, facts.get(code, bare), timelines, as_of_us)
        timelines[code] = standings[code].timeline
    return standings


def _with_ancestors(rules: Rules, codes: Collection[str]) -> set[str]:
    found, front = set(codes), [*codes]
    while front:
        new = {*rules.steps[front.pop()].parents} - found
        found |= new
        front += new
    return found


def _account(
    rules: Rules, history: History, code: str, standings: Mapping[str, StepStanding], as_of_us: int
) -> Account:
    step, standing = rules.steps[code], standings[code]
    sign_offs = [each for each in history.sign_offs if each.step == code and each.happened_us <= as_of_us]
    in_force = [*_in_force(sign_offs, as_of_us)]
    passing = _passing_evidence(rules, history, step, standings, as_of_us)
    return Account(
        code=code,
        as_of_us=as_of_us,
        standing=standing,
        since_us=_since_us(standing, as_of_us),
        criterion=step.in_force_at(as_of_us),
        verdicts=verdicts_at(rules, code, history, _bearing(standing.evidence, passing, in_force), as_of_us),
        sign_offs=tuple(sorted(sign_offs, key=lambda each: (each.happened_us, each.id))),
        in_force=frozenset(each.id for each in in_force),
        openings=tuple(each for each in history.openings if each.step == code and each.happened_us <= as_of_us),
        cautions=cautions_at(history, as_of_us),
    )


def cautions_at(history: History, us: int) -> tuple[Caution, ...]:
    """Return the cautions in force at a moment, by when they began."""
    lifted = {lift.caution for lift in history.lifts if lift.happened_us <= us}
    active = (
        each
        for each in history.cautions
        if each.from_us <= us < (FOREVER if each.until_us is None else each.until_us) and each.id not in lifted
    )
    return tuple(sorted(active, key=lambda each: (each.from_us, each.id)))


def _since_us(standing: StepStanding, us: int) -> int:
    """Return since when the state is what it is; other things may have changed meanwhile."""
    state = standing.now.state
    span = standing.timeline.spans_where(lambda change: change.state == state).covering(us)
    return span.from_us if span else standing.now.from_us


def _in_force(sign_offs: Collection[SignOff], us: int) -> Iterator[SignOff]:
    entrance, finish = Decisions.at("entrance", sign_offs), Decisions.at("finish", sign_offs)
    if opened := entrance.unrevoked(us):
        yield opened
    if finished := finish.passed(us):
        yield finished


def _passing_evidence(
    rules: Rules, history: History, step: StepRule, standings: Mapping[str, StepStanding], us: int
) -> Iterable[str]:
    """Return what an automatic step passed on: that latches, while what is in view changes."""
    timeline = standings[step.code].timeline
    passed = timeline.spans_where(lambda change: change.base in ("passed", "recheck")).covering(us)
    if step.needs_sign_off or passed is None:
        return ()
    timelines = {code: standing.timeline for code, standing in standings.items()}
    return look_at(rules, step.code, history, timelines, passed.from_us).evidence


def _bearing(
    evidence: Iterable[str], passing: Iterable[str], in_force: Iterable[SignOff]
) -> Mapping[str, tuple[Bearing, ...]]:
    bearing: defaultdict[str, tuple[Bearing, ...]] = defaultdict(tuple)
    parts: list[tuple[Bearing, Iterable[str]]] = [("criterion", evidence), ("passing", passing)]
    parts += [(sign_off.gate, sign_off.evidence) for sign_off in in_force]
    for what, ids in parts:
        for attempt_id in ids:
            bearing[attempt_id] += (what,)
    return bearing


@dataclass(frozen=True, slots=True)
class Hindsight:
    """What was recorded after a moment about what had happened by then, and whether it changes how it stood.

    Attempts are those at the step and those that its decisions rest on.
    """

    taken_back: int
    entered_late: int
    decided_late: int
    opened_late: int
    cautions_late: int  # or their lifting
    rule_changed: bool
    stands_otherwise: bool

    @property
    def any(self) -> bool:
        """Whether there is anything to tell."""
        return self != _NOTHING_LEARNED


_NOTHING_LEARNED = Hindsight(0, 0, 0, 0, 0, rule_changed=False, stands_otherwise=False)


def hindsight(
    then: Account | None, now: Account, history: History, rules: tuple[StepRule | None, StepRule]
) -> Hindsight:
    """Compare what was known at a moment with what is known now; ``history`` is all of it, ``rules`` then and now.

    ``then`` is None where the step was not in the book yet.
    """
    us = now.as_of_us
    looked_at = {verdict.attempt.id for verdict in (*now.verdicts, *(then.verdicts if then else ()))}
    attempts = {each.id: each for each in history.attempts if each.id in looked_at}
    voids = (void for void in history.voids if void.recorded_us > us and void.attempt in attempts)
    late = [each for each in attempts.values() if each.recorded_us > us]
    return Hindsight(
        taken_back=sum(attempts[void.attempt].recorded_us <= us for void in voids),
        entered_late=len(late),
        decided_late=sum(each.recorded_us > us for each in now.sign_offs),
        opened_late=sum(each.recorded_us > us for each in now.openings),
        cautions_late=sum(each.recorded_us > us for each in history.cautions if each.from_us <= us)
        + sum(each.recorded_us > us for each in history.lifts if each.happened_us <= us),
        rule_changed=_changed(*rules, us),
        stands_otherwise=then is None or _stands(then) != _stands(now),
    )


def _changed(then: StepRule | None, now: StepRule, us: int) -> bool:
    if then is None:
        return True
    return replace(then, criteria=()) != replace(now, criteria=()) or then.in_force_at(us) != now.in_force_at(us)


def _stands(account: Account) -> tuple[object, ...]:
    now = account.standing.now
    return now.state, now.clearance, now.awaits, now.flags
