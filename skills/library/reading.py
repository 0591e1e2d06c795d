"""From the text of skill files to frozen values; everything that is wrong is told at once."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import cast

from skills.core.criterion_form import problems as criterion_problems
from skills.core.levers import MOST_KNEE_DEGREES, MOST_THIGH_DEGREES, Pose
from skills.library.documents import read_mapping
from skills.library.entries import Entry
from skills.library.graph import graph_problems
from skills.library.texts import (
    LOADS,
    MEASURES,
    MOST_ANGLE,
    MOST_LABEL,
    MOST_NAME,
    MOST_OF_DOSE,
    MOST_RECHECK_DAYS,
    MOST_SKILL_NAME,
    MOST_STEPS,
    MOST_WORD,
    STATIONS,
    TRADE_PRACTICE,
    CheckpointText,
    Dose,
    FaultText,
    FileProblem,
    LibraryError,
    Measure,
    SkillText,
    StepText,
    SwapDrill,
    VariantText,
)


def read_skill(text: str, *, where: str) -> SkillText:
    """One skill from its YAML. ``where`` is the name that problems begin with.

    Raises LibraryError with every problem of this text. Steps of other skills are not known here:
    ``read_library`` looks at prerequisites.
    """
    problems: list[FileProblem] = []
    skill = _skill(Entry(read_mapping(text, where=where), where, "", problems))
    if problems:
        raise LibraryError(tuple(problems))
    return skill


def read_step(data: Mapping[str, object]) -> StepText:
    """One step from a mapping in the form of a skill file, by the same rules.

    Raises LibraryError with every problem, each with the path of its key and no head.
    """
    problems: list[FileProblem] = []
    step = _step(Entry(data, "", "", problems))
    if problems:
        raise LibraryError(tuple(problems))
    return step


def read_heading(data: Mapping[str, object]) -> SkillText:
    """A skill without steps yet, from a mapping of its code, name and purpose; raises LibraryError like `read_step`."""
    problems: list[FileProblem] = []
    skill = _skill(Entry({**data, "steps": []}, "", "", problems))
    if problems:
        raise LibraryError(tuple(problems))
    return skill


def read_library(texts: Iterable[tuple[str, str]]) -> tuple[SkillText, ...]:
    """Many skills from pairs of (where, YAML text), in the order given.

    Raises LibraryError with every problem of every text; prerequisites are looked at once all can be read.
    """
    skills: list[SkillText] = []
    problems: list[FileProblem] = []
    for where, text in texts:
        try:
            skills.append(read_skill(text, where=where))
        except LibraryError as error:
            problems.extend(error.found)
    problems = problems or graph_problems(skills)
    if problems:
        raise LibraryError(tuple(problems))
    return tuple(skills)


def _skill(entry: Entry) -> SkillText:
    skill = SkillText(
        skill=entry.free_code("skill"),
        name=entry.text("name", most=MOST_SKILL_NAME),
        purpose=entry.text("purpose"),
        steps=tuple(_step(_headed(part)) for part in entry.entries("steps", most=MOST_STEPS)),
    )
    entry.refuse_twice("steps", [step.code for step in skill.steps])
    entry.refuse_twice("steps", [step.label for step in skill.steps])
    entry.close()
    return skill


def _headed(part: Entry) -> Entry:
    """The same step, whose problems begin with its code; with its number where it has none."""
    code = part.data.get("code")
    return replace(part, head=f"{part.head}, step {code}", path="") if isinstance(code, str) else part


def _step(entry: Entry) -> StepText:
    step = StepText(
        code=entry.free_code("code"),
        label=entry.text("label", most=MOST_LABEL),
        name=entry.text("name", most=MOST_NAME),
        purpose=entry.text("purpose"),
        set_up=entry.texts("set_up", least=1),
        measure=_measure(entry),
        loads=entry.words("loads", LOADS),
        inverted=entry.flag("inverted"),
        over_bar=entry.flag("over_bar"),
        low_bar_check=entry.flag("low_bar_check"),
        side_drill=entry.flag("side_drill"),
        requires=entry.texts("requires"),
        asks_clearance=entry.flag("asks_clearance"),
        needs_sign_off=entry.flag("needs_sign_off"),
        recheck_days=entry.whole_or_none("recheck_days", most=MOST_RECHECK_DAYS),
        grades=entry.texts("grades", most=MOST_WORD),
        checkpoints=tuple(_checkpoint(part) for part in entry.entries("checkpoints", least=1)),
        faults=tuple(_fault(part) for part in entry.entries("faults", least=1)),
        variants=tuple(_variant(part) for part in entry.entries("variants")),
        cautions=entry.texts("cautions", least=1),
        getting_down=entry.text_or_none("getting_down"),
        dose=_dose(entry.entry("dose")),
        swap_drill=_swap_drill(entry.entry("swap_drill")),
        trade_practice=entry.words("trade_practice", TRADE_PRACTICE),
        criterion=entry.raw("criterion"),
        angle=entry.text("angle", most=MOST_ANGLE) if entry.has("angle") else "",
        station=_station(entry) if entry.has("station") else STATIONS[0],
        pose=_pose(entry.entry("pose")) if entry.has("pose") else None,
    )
    _refuse_repeats(entry, step)
    _refuse_contradictions(entry, step)
    for problem in criterion_problems(step.criterion) if step.criterion else ():
        entry.note(f"criterion.{problem.path}".rstrip("."), problem.sentence)
    entry.close()
    return step


def _measure(entry: Entry) -> Measure:
    measure = entry.text("measure")
    if measure and measure not in MEASURES:
        entry.note("measure", f"“{measure}” is not one of {', '.join(MEASURES)}.")
    return cast("Measure", measure)


def _station(entry: Entry) -> str:
    station = entry.text("station")
    if station and station not in STATIONS:
        entry.note("station", f"“{station}” is not one of {', '.join(STATIONS)}.")
    return station


def _pose(entry: Entry | None) -> Pose | None:
    if entry is None:
        return None
    pose = Pose(
        thigh_degrees=entry.whole("thigh", least=0, most=MOST_THIGH_DEGREES),
        knee_degrees=entry.whole("knee", least=0, most=MOST_KNEE_DEGREES),
    )
    entry.close()
    return pose


def _checkpoint(entry: Entry) -> CheckpointText:
    checkpoint = CheckpointText(code=entry.code("code"), text=entry.text("text", most=MOST_WORD))
    entry.close()
    return checkpoint


def _fault(entry: Entry) -> FaultText:
    fault = FaultText(
        code=entry.code("code"),
        name=entry.text("name", most=MOST_WORD),
        cue=entry.text("cue", most=MOST_WORD),
        dangerous=entry.has("dangerous") and entry.flag("dangerous"),
    )
    entry.close()
    return fault


def _variant(entry: Entry) -> VariantText:
    variant = VariantText(code=entry.code("code"), name=entry.text("name", most=MOST_WORD))
    entry.close()
    return variant


def _dose(entry: Entry | None) -> Dose:
    if entry is None:
        return Dose(sets=1, hold_seconds=None, reps=1, rest_seconds=1, days_a_week=1)
    most = MOST_OF_DOSE
    dose = Dose(
        sets=entry.whole("sets", most=most["sets"]),
        hold_seconds=entry.whole_or_none("hold_seconds", most=most["hold_seconds"]),
        reps=entry.whole("reps", most=most["reps"]),
        rest_seconds=entry.whole("rest_seconds", most=most["rest_seconds"]),
        days_a_week=entry.whole("days_a_week", most=most["days_a_week"]),
    )
    entry.close()
    return dose


def _swap_drill(entry: Entry | None) -> SwapDrill:
    if entry is None:
        return SwapDrill(name="", text="")
    drill = SwapDrill(name=entry.text("name", most=MOST_NAME), text=entry.text("text"))
    entry.close()
    return drill


def _refuse_repeats(entry: Entry, step: StepText) -> None:
    entry.refuse_twice("requires", step.requires)
    entry.refuse_twice("grades", step.grades)
    entry.refuse_twice("checkpoints", [checkpoint.code for checkpoint in step.checkpoints])
    entry.refuse_twice("faults", [fault.code for fault in step.faults])
    entry.refuse_twice("variants", [variant.code for variant in step.variants])


def _refuse_contradictions(entry: Entry, step: StepText) -> None:
    """What no step may say, each for the safety of whoever trusts the other key."""
    if step.inverted or step.over_bar:
        for key in ("asks_clearance", "needs_sign_off"):
            if not getattr(step, key):
                entry.note(key, "is needed, because the step is inverted or goes over the bar.")
        if step.getting_down is None:
            entry.note("getting_down", "is needed, because the step is inverted or goes over the bar.")
    if step.inverted and "inversion" not in step.loads:
        entry.note("loads", "must name inversion, because the step is inverted.")
    if step.inverted and step.pose is not None:
        entry.note("pose", "is left out where the step is inverted: upside down gravity closes a tuck.")
    if (step.measure == "hold") != (step.dose.hold_seconds is not None):
        entry.note("dose.hold_seconds", "is needed for a hold, and stays empty for reps.")
