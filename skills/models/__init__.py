"""Tables of the skills app, one file a noun."""

from skills.models.attempt import Attempt, AttemptVoid
from skills.models.class_plan import ClassPlan, RotationMark, ServedStep, WorkPlace
from skills.models.criterion import CriterionVersion
from skills.models.dose import DoseChange
from skills.models.equipment import Bar
from skills.models.floor import FloorAct
from skills.models.safety import EquipmentCheck, Incident, IncidentNote, RiskRead
from skills.models.session import Attendance, BarCheck, TrainingSession
from skills.models.sign_off import Opening, SignOff
from skills.models.skill import Checkpoint, Fault, Prerequisite, Skill, Step, StepVersion, Variant
from skills.models.timeline import StepTimeline

__all__ = [
    "Attempt",
    "AttemptVoid",
    "Attendance",
    "Bar",
    "BarCheck",
    "Checkpoint",
    "ClassPlan",
    "CriterionVersion",
    "DoseChange",
    "EquipmentCheck",
    "Fault",
    "FloorAct",
    "Incident",
    "IncidentNote",
    "Opening",
    "Prerequisite",
    "RiskRead",
    "RotationMark",
    "ServedStep",
    "SignOff",
    "Skill",
    "Step",
    "StepTimeline",
    "StepVersion",
    "TrainingSession",
    "Variant",
    "WorkPlace",
]
