"""Tables of the athletes app, one file a noun."""

from athletes.models.account import Account
from athletes.models.athlete import Athlete, BodyMeasure
from athletes.models.audit import AuditEntry, AuditHead
from athletes.models.caution import Caution, CautionLift, Load, SkinNote
from athletes.models.certificate import Certificate
from athletes.models.consent import Consent
from athletes.models.contact import EmergencyContact, Screening
from athletes.models.erasure import Erasure, ErasureRequest
from athletes.models.gym import Gym
from athletes.models.invitation import Invitation
from athletes.models.link import PrivateLink
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
    "EmergencyContact",
    "Erasure",
    "ErasureRequest",
    "Fact",
    "Guardianship",
    "Gym",
    "GymRow",
    "HandOver",
    "Invitation",
    "Load",
    "Membership",
    "Person",
    "PrivateLink",
    "Remark",
    "RightsChange",
    "Screening",
    "SkinNote",
    "Tablet",
]
