"""Everybody in the demo gym. The names are invented, and come from many scripts on purpose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Kind = Literal["strong", "quick", "steady", "slow", "stuck", "newcomer"]

GYM_NAME: Final = "Tidewall Hall"
GYM_SLUG: Final = "tidewall"
ZONE: Final = "Europe/Lisbon"
DOMAIN: Final = "demo.example"

OWNER: Final = "Benedita Salgueirinho"


@dataclass(frozen=True, slots=True)
class Coach:
    """A coach; `key` is the first half of the address, and who the simulation says did something."""

    key: str
    full_name: str
    rights: frozenset[str]

    @property
    def signs(self) -> bool:
        """Whether the coach may sign off."""
        return "may_sign_off" in self.rights


COACHES: Final = (
    Coach("coach", "Rui Carvalhosa", frozenset({"may_log", "may_sign_off", "may_edit_skills", "may_read_reports"})),
    Coach("coach2", "Yewande Abiodele", frozenset({"may_log", "may_sign_off"})),
    Coach("coach3", "Mikkel Østerlund", frozenset({"may_log"})),
)


# By coach's key: what was certified, and how many days after the last day of the story it ends; None for never.
CERTIFIED_DAYS_BEFORE: Final = 200
CERTIFICATES: Final = (
    ("coach", "coaching", None),
    ("coach", "first_aid", 21),
    ("coach", "safeguarding", 300),
    ("coach2", "coaching", 480),
    ("coach2", "first_aid", 150),
)


@dataclass(frozen=True, slots=True)
class Role:
    """One athlete's part: age on the last day, how they come along, and which skills they came for.

    `login` is the first half of their address, empty without a log-in.
    """

    full_name: str
    age_years: int
    kind: Kind
    skills: tuple[str, ...]
    login: str = ""


ADULT_AGE_YEARS: Final = 18

_BAR, _PULL, _TOES, _SWING = "bar-pullover", "chest-to-bar-pull-up", "toes-to-bar", "hollow-arch-swing"
_SKIN, _RING, _L_HOLD, _WALL = "skin-the-cat", "ring-muscle-up", "l-hold", "wall-handstand"

ATHLETES: Final = (
    Role("Íris Valadão", 34, "steady", (_BAR, _L_HOLD), "athlete"),
    Role("林晓岚", 13, "quick", (_BAR, _SWING), ""),
    Role("Ömer Taşkıran", 41, "steady", (_BAR, _PULL), "athlete2"),
    Role("Ελπίδα Καραλή", 29, "quick", (_BAR, _L_HOLD), "athlete3"),
    Role("Kateřina Doležalová", 37, "slow", (_BAR,)),
    Role("ليان الخطاطبة", 26, "strong", (_BAR, _L_HOLD, _RING)),
    Role("Bálint Őrhegyi", 48, "slow", (_BAR, _TOES)),
    Role("Мирослава Кленова", 31, "strong", (_BAR, _L_HOLD, _TOES)),
    Role("서한별", 15, "quick", (_BAR, _WALL)),
    Role("Joaquim Ferrão", 52, "stuck", (_BAR,)),
    Role("नीरजा धनवटे", 24, "steady", (_BAR, _SKIN)),
    Role("Lương Quốc Khải", 28, "strong", (_BAR, _L_HOLD, _SWING)),
    Role("נועם שקדיאל", 33, "steady", (_BAR, _TOES)),
    Role("Māra Liepkalne", 45, "slow", (_BAR, _L_HOLD)),
    Role("水嶋ハルト", 16, "steady", (_BAR, _PULL)),
    Role("Ásdís Hallbergsdóttir", 22, "strong", (_BAR, _WALL, _L_HOLD)),
    Role("Данило Яворчук", 39, "steady", (_BAR, _PULL)),
    Role("Tomàs Puigverd", 27, "quick", (_BAR, _L_HOLD)),
    Role("نیلوفر راستکار", 30, "steady", (_BAR, _WALL)),
    Role("Adaeze Nwokolie", 12, "quick", (_BAR, _TOES)),
    Role("Zofia Wrzesińska", 36, "slow", (_BAR, _SWING)),
    Role("赵以恒", 25, "strong", (_BAR, _PULL, _RING)),
    Role("Στέφανος Μελισσάρης", 55, "slow", (_BAR, _L_HOLD)),
    Role("Tāne Waikere", 32, "quick", (_BAR, _L_HOLD)),
    Role("कबीर सोनवणी", 43, "steady", (_BAR, _TOES)),
    Role("Ingrid Skårvik", 58, "slow", (_BAR,)),
    Role("תמר אלמגרי", 14, "steady", (_BAR, _L_HOLD)),
    Role("Noé Brisvert", 21, "quick", (_BAR, _L_HOLD, _TOES)),
    Role("三日月かえで", 28, "steady", (_BAR, _L_HOLD)),
    Role("Đỗ Thị Ánh Nguyệt", 35, "steady", (_BAR, _PULL)),
    Role("Велизар Трендафилов", 47, "slow", (_BAR, _SWING)),
    Role("يوسف بن مرزاق", 23, "newcomer", (_BAR,)),
    Role("Leilani Kahoʻokele", 26, "strong", (_BAR, _L_HOLD, _WALL)),
    Role("남궁이든", 38, "slow", (_BAR, _TOES)),
    Role("Անի Վարդերեսյան", 15, "newcomer", (_BAR, _WALL)),
    Role("Mateus Quintela", 30, "quick", (_BAR, _PULL, _L_HOLD)),
    Role("கயல்விழி மாறன்", 33, "steady", (_BAR, _L_HOLD)),
    Role("Siobhán Nic Ruairc", 40, "newcomer", (_BAR, _SWING)),
    Role("ნინო ხარაიშვილი", 27, "steady", (_BAR, _SKIN), "athlete4"),
    Role("Hannah Lowdell", 50, "newcomer", (_BAR,)),
)

# Number of the ward, and who looks after her.
WARD: Final = 2
GUARDIAN: Final = "林志华"

# Numbers with a part of their own in the story.
PAIN_NUMBER: Final = 17  # said that it hurt, was paused, went on weeks later
AWAY_FROM_SUPPORT_NUMBER: Final = 30  # was told to leave support alone for a while
PAUSED_TODAY_NUMBER: Final = 13

# Numbers of an adult and of a minor, both new, about whom nobody has said yet that they agree.
WITHOUT_CONSENT_NUMBERS: Final = frozenset({35, 40})
