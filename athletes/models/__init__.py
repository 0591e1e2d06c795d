"""Tables of the athletes app, one file a noun."""

from athletes.models.account import Account
from athletes.models.athlete import Athlete, BodyMeasure
from athletes.models.audit import AuditEntry, AuditHead
from athletes.models.caution import Caution, CautionLift, Load
from athletes.models.certificate import Certificate
from athletes.models.consent import Consent
from athletes.models.gym import Gym
from athletes.models.membership import Guardianship, Membership, RightsChange
from athletes.models.person import Person, Remark
from athletes.models.rows import Fact, GymRow
from athletes.models.tablet import CoachCode, HandOver, Tablet
from athletes.models.token import ApiToken

__all__ = [
    "Account",
    "ApiToken",
    "Athlete",
    "AuditEntry",
    "AuditHead",
    "BodyMeasure",
    "Caution",
    "CautionLift",
    "Certificate",
    "CoachCode",
    "Consent",
    "Fact",
    "Guardianship",
    "Gym",
    "GymRow",
    "HandOver",
    "Load",
    "Membership",
    "Person",
    "Remark",
    "RightsChange",
    "Tablet",
]
