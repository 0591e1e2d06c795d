"""What may be logged as an attempt: every mistake in an entry, each with its field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from skills.core.facts import UNASSISTED

MICROSECONDS_A_DAY = 24 * 3600 * 1_000_000
CLOCK_LEEWAY_US = 5 * 60 * 1_000_000  # a tablet's clock may be a little ahead
OLDEST_ENTRY_DAYS = 366  # a tablet that lay in a drawer; older ones come by import
LONGEST_HOLD_TENTHS = 36_000  # an hour
MOST_REPS = 500
MOST_EFFORT = 10
MOST_DEGREES = 180
ANGLE_SENTENCE = f"An angle is a whole number of degrees from 0 to {MOST_DEGREES}."
DOUBTS = ("slept", "hidden")  # meanwhile, of the device or of its page: its time may be too short
ASSISTANCES = (UNASSISTED, "band", "spot", "box", "feet")


@dataclass(frozen=True, slots=True)
class StepForm:
    """What an attempt at a step looks like, and the words that may describe it."""

    is_hold: bool
    faults: frozenset[str]
    checkpoints: frozenset[str]
    variants: frozenset[str]
    grades: int
    low_bar_check: bool
    angle: str = ""  # which angle can be measured, in words; "" = none


@dataclass(frozen=True, slots=True)
class Result:
    """The result of one try, as entered: holds in tenths of a second, effort from 0 to 10."""

    hold_tenths: int | None
    reps: int
    unbroken: bool = True
    assistance: str = UNASSISTED
    variant: str = ""
    faults: tuple[str, ...] = ()
    missed: tuple[str, ...] = ()
    effort: int | None = None
    pain: bool = False
    grade: int = 0
    angle_degrees: int | None = None


@dataclass(frozen=True, slots=True)
class Mistake:
    """A field of an entry, and the sentence that says what is wrong with it."""

    field: str
    sentence: str


def mistakes_in(result: Result, form: StepForm) -> tuple[Mistake, ...]:
    """Return everything that is wrong with a result for a step of that form."""
    return (*_in_figures(result, form), *_in_words(result, form))


def _in_figures(result: Result, form: StepForm) -> Iterator[Mistake]:
    if form.is_hold and result.hold_tenths is None:
        yield Mistake("hold_tenths", "This step is held: enter the seconds.")
    if not form.is_hold and result.hold_tenths is not None:
        yield Mistake("hold_tenths", "This step is counted in reps: leave the seconds out.")
    if result.hold_tenths is not None and not 1 <= result.hold_tenths <= LONGEST_HOLD_TENTHS:
        yield Mistake("hold_tenths", "A hold lasts from 0.1 seconds to one hour.")
    if not 1 <= result.reps <= MOST_REPS:
        yield Mistake("reps", f"Reps are a whole number from 1 to {MOST_REPS}.")
    if result.effort is not None and not 0 <= result.effort <= MOST_EFFORT:
        yield Mistake("effort", f"Effort is a whole number from 0 to {MOST_EFFORT}.")
    if not 0 <= result.grade <= form.grades:
        yield Mistake("grade", f"This step has {form.grades} grades.")
    if result.angle_degrees is not None and not form.angle:
        yield Mistake("angle_degrees", "No angle is measured at this step: leave the degrees out.")
    elif result.angle_degrees is not None and not 0 <= result.angle_degrees <= MOST_DEGREES:
        yield Mistake("angle_degrees", ANGLE_SENTENCE)


def _in_words(result: Result, form: StepForm) -> Iterator[Mistake]:
    if result.assistance not in ASSISTANCES:
        yield Mistake("assistance", f"Assistance is one of {', '.join(ASSISTANCES)}.")
    if result.variant and result.variant not in form.variants:
        yield Mistake("variant", f"This step has no variant {result.variant!r}.")
    for fault in sorted({*result.faults} - form.faults):
        yield Mistake("faults", f"This step has no fault {fault!r}.")
    for checkpoint in sorted({*result.missed} - form.checkpoints):
        yield Mistake("missed", f"This step has no checkpoint {checkpoint!r}.")


def mistakes_in_moment(happened_us: int, now_us: int) -> tuple[Mistake, ...]:
    """Return what is wrong with the moment of an attempt that is logged now."""
    if happened_us > now_us + CLOCK_LEEWAY_US:
        return (Mistake("happened_at", "The attempt lies in the future: check the clock of this device."),)
    if happened_us < now_us - OLDEST_ENTRY_DAYS * MICROSECONDS_A_DAY:
        return (Mistake("happened_at", "The attempt is more than a year old: bring it in with import_attempts."),)
    return ()
