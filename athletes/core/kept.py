"""What is kept, about whom, why and for how long, and what erasure does with it: one line for every table.

The page "what is kept" reads from here, and so does erasure: nothing is emptied that is not declared, and a test
fails for a table without a line or a column of text without a place in one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Final

ERASED: Final = "erased"  # stands where a name stood


class Erasing(Enum):
    """What erasure does with the rows of a person."""

    DELETE = "deleted"
    EMPTY = "emptied"
    FACT = "kept without a name"
    NONE = "nobody’s"  # the table is about no person


@dataclass(frozen=True, slots=True)
class Kept:
    """One line: in plain words what is kept, about whom, why, how long, and what erasure does.

    `how_long` may ask for `{months}` and `{pain_days}`, settings of the gym. `of` are the ways from a row to the
    person whose it is, as lookups; `empties` the columns that erasure empties. Columns of text that stay are in
    `codes` (codes, digests and figures that the program makes or checks against a list) or in `gyms_words` (words
    of the gym about its own things, in which nobody's name belongs).
    """

    what: str
    about: str
    why: str
    how_long: str
    erasing: Erasing
    of: tuple[str, ...] = ()
    empties: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    gyms_words: tuple[str, ...] = ()

    def told_how_long(self, *, months: int, pain_days: int) -> str:
        """Return how long, with the gym's own settings in it."""
        return self.how_long.format(months=months, pain_days=pain_days)


_LEFT = "until {months} months after they left, or until they are erased"
_FACT = "for good, under a random number; the name behind it goes {months} months after they left, or when it is erased"
_PROVES = "to prove who was cleared for what, by whom and on what evidence"
_GYM = "for as long as there is the gym"
_COUNT = "as long as the project does its work; it says nothing about anybody"

_PEOPLE: Final = {
    "athletes.Person": Kept(
        "Name, e-mail address, birth date, and what the staff noted",
        "everybody the gym knows",
        "to know who practises, who is a minor, and to reach them",
        _LEFT,
        Erasing.EMPTY,
        of=("pk",),
        empties=("full_name", "email", "birth_on", "notes"),
    ),
    "athletes.Athlete": Kept(
        "Number on the board, the days of joining and leaving",
        "athletes",
        "to tell them apart, and to count",
        _FACT,
        Erasing.FACT,
        of=("person",),
    ),
    "athletes.BodyMeasure": Kept(
        "Stature and mass, with the day",
        "athletes",
        "to set bars to the right height; the mass of a minor is shown nowhere",
        _LEFT,
        Erasing.DELETE,
        of=("athlete__person",),
    ),
    "athletes.EmergencyContact": Kept(
        "Whom to call: name, relation, telephone number",
        "athletes, and whom they named",
        "to call somebody when something has happened",
        _LEFT,
        Erasing.DELETE,
        of=("athlete__person",),
        empties=("name", "relation", "phone"),
    ),
    "athletes.Remark": Kept(
        "Reasons and notes in words: on attempts, decisions, cautions, incidents",
        "the athlete whom they are about",
        "so that the next coach knows why",
        "notes on pain and on cautions that have ended {pain_days} days, all others " + _LEFT,
        Erasing.DELETE,
        of=("subject",),
        empties=("text", "salt"),
    ),
    "athletes.Caution": Kept(
        "What somebody may not do for now (no hanging, say), from when until when; never a diagnosis",
        "athletes",
        "so that no coach asks it of them",
        _FACT,
        Erasing.FACT,
        of=("athlete__person",),
        codes=("loads", "remark_commitment"),
    ),
    "athletes.CautionLift": Kept(
        "That a coach lifted a caution",
        "athletes, and the coach",
        _PROVES,
        _FACT,
        Erasing.FACT,
        of=("caution__athlete__person", "lifted_by__person"),
    ),
    "athletes.SkinNote": Kept(
        "That skin was torn, and until when it is shown",
        "athletes",
        "so that hands heal",
        _FACT,
        Erasing.FACT,
        of=("athlete__person",),
    ),
    "athletes.Screening": Kept(
        "That a readiness screening was done, and until when it counts: no questions, no answers",
        "athletes",
        "so that a coach knows that it was done",
        _FACT,
        Erasing.FACT,
        of=("athlete__person",),
    ),
    "athletes.Consent": Kept(
        "What was agreed to or withdrawn, when and by whom",
        "athletes, and guardians",
        "because nobody is touched or goes upside down without it",
        _FACT,
        Erasing.FACT,
        of=("athlete__person", "entered_by__person"),
        codes=("kind", "extent", "said_by"),
    ),
    "athletes.Membership": Kept(
        "Role and rights in the gym, from when until when",
        "everybody with a log-in",
        "to decide who may see and do what, and to know afterwards who might",
        _FACT,
        Erasing.FACT,
        of=("person",),
        codes=("role", "sign_off_skills"),
    ),
    "athletes.Guardianship": Kept(
        "Who is the guardian of whom",
        "guardians and minors",
        "to let a guardian see and decide",
        _FACT,
        Erasing.FACT,
        of=("guardian__person", "athlete__person"),
    ),
    "athletes.RightsChange": Kept(
        "The rights of the staff over time",
        "staff",
        _PROVES,
        _FACT,
        Erasing.FACT,
        of=("membership__person",),
        codes=("rights", "sign_off_skills"),
    ),
    "athletes.Certificate": Kept(
        "Kinds of certificates and their dates",
        "staff",
        "because the right to sign off rests on them",
        _FACT,
        Erasing.FACT,
        of=("membership__person",),
        codes=("kind",),
    ),
    "athletes.Invitation": Kept(
        "Who was invited as what; of the code only a digest",
        "who is invited",
        "to let them in once",
        "until it is used, taken back or run out, and a month more",
        Erasing.DELETE,
        of=("person", "athlete__person"),
        codes=("role", "rights", "sign_off_skills", "digest"),
    ),
    "athletes.PrivateLink": Kept(
        "Who has a private link, until when, when it was opened last; of the link only a digest",
        "athletes",
        "to show them their own page without a log-in",
        "until it is taken back or run out, and a month more",
        Erasing.DELETE,
        of=("athlete__person",),
        codes=("digest",),
    ),
    "athletes.CoachCode": Kept(
        "The digest of the six digits with which a coach takes a tablet",
        "staff",
        "to know who logs",
        _LEFT,
        Erasing.DELETE,
        of=("membership__person",),
        codes=("digest",),
    ),
    "athletes.ApiToken": Kept(
        "Keys for programs, by name; of the key only a digest",
        "staff",
        "to let a program act for them",
        _LEFT,
        Erasing.DELETE,
        of=("membership__person",),
        empties=("name",),
        codes=("digest",),
    ),
    "athletes.HandOver": Kept(
        "Who held which tablet, from when until when",
        "staff",
        "so that it is never wrong who logged what",
        "{months} months, and for good where something was logged by it",
        Erasing.FACT,
        of=("coach__person",),
    ),
    "athletes.ErasureRequest": Kept(
        "That erasure was asked for, by whom, and the answer",
        "who asked, and for whom",
        "so that no request is forgotten",
        _FACT,
        Erasing.FACT,
        of=("person", "asked_by__person"),
        codes=("answer",),
    ),
    "athletes.Erasure": Kept(
        "That somebody was erased: a random number and the moment",
        "nobody who could be named",
        "so that a backup which is restored is erased again",
        "for good",
        Erasing.FACT,
    ),
    "athletes.AuditEntry": Kept(
        "Who did what and when: ids and figures, sealed so that no change goes unseen; no names",
        "everybody who did something",
        _PROVES,
        "for good",
        Erasing.FACT,
        of=("actor__person",),
        codes=("act", "content", "seal"),
    ),
}

_PRACTICE: Final = {
    "skills.Attempt": Kept(
        "What was tried: step, hold or repetitions, help, faults, effort, whether it hurt",
        "athletes, and who logged it",
        "to know what somebody is ready for",
        _FACT,
        Erasing.FACT,
        of=("athlete__person", "logged_by__person"),
        codes=("source", "assistance", "variant", "faults", "missed", "doubt", "remark_commitment"),
    ),
    "skills.AttemptVoid": Kept(
        "That an attempt was taken back",
        "athletes, and who took it back",
        "so that a slip of the hand counts for nothing",
        _FACT,
        Erasing.FACT,
        of=("athlete__person", "voided_by__person"),
        codes=("remark_commitment",),
    ),
    "skills.SignOff": Kept(
        "A coach’s decisions at the gates of a step, with the evidence",
        "athletes, and the coach",
        _PROVES,
        _FACT,
        Erasing.FACT,
        of=("athlete__person", "signed_by__person"),
        codes=("gate", "decision", "clearance", "evidence", "remark_commitment"),
    ),
    "skills.Opening": Kept(
        "Which steps have opened, and when",
        "athletes",
        _PROVES,
        _FACT,
        Erasing.FACT,
        of=("athlete__person",),
    ),
    "skills.StepTimeline": Kept(
        "How somebody stands at each step, worked out of the above",
        "athletes",
        "to show it at once",
        _FACT,
        Erasing.FACT,
        of=("athlete__person",),
        codes=("changes",),
    ),
    "skills.Attendance": Kept(
        "Who was in which class",
        "athletes",
        "to log what they do there",
        _FACT,
        Erasing.FACT,
        of=("athlete__person",),
    ),
    "skills.TrainingSession": Kept(
        "Classes: name, coach, beginning and end",
        "the coach",
        "to know what happened when",
        _FACT,
        Erasing.FACT,
        of=("coach__person",),
        gyms_words=("name",),
    ),
    "skills.FloorAct": Kept(
        "What a tablet sent: its kind, the moment, and a digest under a key that the database does not hold",
        "the coach who held the tablet",
        "so that an act which comes twice is stored once",
        _FACT,
        Erasing.FACT,
        of=("hand_over__coach__person",),
        codes=("kind", "digest"),
    ),
    "skills.Incident": Kept(
        "That something went wrong, its kind, and who was told; what happened stands in a note",
        "athletes, and who wrote it down",
        "to learn from it, and because insurers and the law ask for it",
        _FACT,
        Erasing.FACT,
        of=("athlete__person", "entered_by__person"),
        codes=("kind", "remark_commitment"),
    ),
    "skills.IncidentNote": Kept(
        "What was learned or done about it afterwards",
        "who wrote it down",
        "to learn from it",
        _FACT,
        Erasing.FACT,
        of=("incident__athlete__person", "entered_by__person"),
        codes=("remark_commitment",),
    ),
    "skills.RiskRead": Kept(
        "That a coach has read the risk notes of a step",
        "staff",
        "to know that they were read",
        _FACT,
        Erasing.FACT,
        of=("coach__person",),
        codes=("digest",),
    ),
    "skills.BarCheck": Kept(
        "Checks of a low bar, by name",
        "staff",
        _PROVES,
        _FACT,
        Erasing.FACT,
        of=("checked_by__person",),
        gyms_words=("bar",),
    ),
    "skills.EquipmentCheck": Kept(
        "Checks of the equipment, by name",
        "staff",
        "to show that it was fit for use",
        _FACT,
        Erasing.FACT,
        of=("checked_by__person",),
        codes=("found", "remark_commitment"),
        gyms_words=("item",),
    ),
    "skills.CriterionVersion": Kept(
        "The rules by which a step is met, and who adopted them",
        "staff",
        _PROVES,
        _FACT,
        Erasing.FACT,
        of=("adopted_by__person",),
        codes=("tree",),
    ),
    "skills.StepVersion": Kept(
        "What a step was like at a time, and who wrote it",
        "staff",
        _PROVES,
        _FACT,
        Erasing.FACT,
        of=("adopted_by__person",),
        gyms_words=("text",),
    ),
}

_LOG_INS: Final = {
    "athletes.Account": Kept(
        "E-mail address and a digest of the password",
        "everybody with a log-in",
        "to sign in",
        "as long as they belong to a gym; with the last one it goes",
        Erasing.EMPTY,
        of=("memberships__person",),
        empties=("email", "password"),
    ),
    "account.EmailAddress": Kept(
        "Whether an e-mail address was confirmed",
        "everybody with a log-in",
        "to know that the address is theirs",
        "as long as the log-in",
        Erasing.DELETE,
        of=("user__memberships__person",),
        empties=("email",),
    ),
    "account.EmailConfirmation": Kept(
        "Confirmations of an address that are on their way",
        "everybody with a log-in",
        "to know that the address is theirs",
        "a few days",
        Erasing.DELETE,
        of=("email_address__user__memberships__person",),
        codes=("key",),
    ),
    "mfa.Authenticator": Kept(
        "Second factors: passkeys, one-time codes, recovery codes",
        "who has set one up",
        "to sign in safely",
        "as long as the log-in, or until it is removed",
        Erasing.DELETE,
        of=("user__memberships__person",),
        empties=("data",),
        codes=("type",),
    ),
    "usersessions.UserSession": Kept(
        "Where somebody is signed in: network address, browser, last seen",
        "everybody with a log-in",
        "so that they can end it elsewhere",
        "until the session ends",
        Erasing.DELETE,
        of=("user__memberships__person",),
        empties=("ip", "user_agent", "data"),
        codes=("session_key",),
    ),
    "sessions.Session": Kept(
        "That a browser is signed in, and what the next page is to say",
        "everybody with a log-in",
        "to stay signed in",
        "until it is ended or runs out",
        Erasing.DELETE,
        empties=("session_data",),
        codes=("session_key",),
    ),
}


def _words(what: str, *more: str) -> Kept:
    return Kept(what, "nobody", "to teach", _GYM, Erasing.NONE, codes=("code",), gyms_words=("name", *more))


_NOBODYS: Final = {
    "athletes.Gym": Kept(
        "The gym’s name and settings",
        "nobody",
        "to run",
        _GYM,
        Erasing.NONE,
        codes=("slug", "time_zone", "units"),
        gyms_words=("name",),
    ),
    "athletes.AuditHead": Kept(
        "The end of the chain of acts", "nobody", "to seal", _GYM, Erasing.NONE, codes=("seal",)
    ),
    "athletes.Tablet": Kept(
        "Tablets, by the name that the gym gave them",
        "nobody",
        "to let them in, and to shut them out",
        _GYM,
        Erasing.NONE,
        codes=("code_digest", "key_digest"),
        gyms_words=("name",),
    ),
    "skills.Skill": Kept(
        "Skills", "nobody", "to teach", _GYM, Erasing.NONE, codes=("slug",), gyms_words=("name", "purpose")
    ),
    "skills.Step": Kept(
        "Steps",
        "nobody",
        "to teach",
        _GYM,
        Erasing.NONE,
        codes=("code", "label", "measure", "loads", "grades"),
        gyms_words=(
            "name",
            "angle",
            "purpose",
            "set_up",
            "cautions",
            "getting_down",
            "dose",
            "swap_drill",
            "trade_practice",
        ),
    ),
    "skills.Prerequisite": Kept("Which step comes before which", "nobody", "to teach", _GYM, Erasing.NONE),
    "skills.Checkpoint": _words("What a correct attempt shows"),
    "skills.Fault": _words("Named errors, and the words that mend them", "cue"),
    "skills.Variant": _words("Accepted easier forms"),
    "auth.Permission": Kept(
        "Words of the library", "nobody", "unused", _COUNT, Erasing.NONE, codes=("name", "codename")
    ),
    "auth.Group": Kept("Groups of the library", "nobody", "unused", _COUNT, Erasing.NONE, codes=("name",)),
    "auth.Group_permissions": Kept("Groups of the library", "nobody", "unused", _COUNT, Erasing.NONE),
    "athletes.Account_groups": Kept("Groups of the library", "nobody", "unused", _COUNT, Erasing.NONE),
    "athletes.Account_user_permissions": Kept("Permissions of the library", "nobody", "unused", _COUNT, Erasing.NONE),
    "contenttypes.ContentType": Kept(
        "Names of tables", "nobody", "the library’s", _COUNT, Erasing.NONE, codes=("app_label", "model")
    ),
}

# Tables without a model, by their names.
BARE_TABLES: Final = {
    "gymtrack_cache": Kept(
        "Counts of failed log-ins and of requests, against guessing",
        "who signs in",
        "so that nobody guesses a password",
        "minutes to a day",
        Erasing.DELETE,
    ),
    "django_migrations": Kept("Which changes of the tables were made", "nobody", "to upgrade", _COUNT, Erasing.NONE),
}

# Every table, by the label of its model.
TABLES: Final[Mapping[str, Kept]] = {**_PEOPLE, **_PRACTICE, **_LOG_INS, **_NOBODYS}

# The same in the order in which a page tells them, under a title each.
GROUPS: Final[tuple[tuple[str, Mapping[str, Kept]], ...]] = (
    ("People", _PEOPLE),
    ("What is practised, decided and checked", _PRACTICE),
    ("Log-ins", {**_LOG_INS, "gymtrack_cache": BARE_TABLES["gymtrack_cache"]}),
)

# What is kept outside of the database.
OUTSIDE: Final[tuple[Kept, ...]] = (
    Kept(
        "Mail that was written to files instead of being sent, where the gym runs on one machine without a mail server",
        "whom it was written to",
        "to read it there",
        "until erasure, which deletes the files that name them; else until somebody deletes them",
        Erasing.DELETE,
    ),
    Kept(
        "The list of erasures and the anchors of the chain of acts: random numbers, moments, seals",
        "nobody who could be named",
        "so that a backup which is restored is erased again, and a shortened chain is found",
        "for good",
        Erasing.FACT,
    ),
    Kept(
        "Log lines of the server: addresses of pages and moments; no name, no e-mail address, no code",
        "nobody who could be named",
        "to find faults",
        "as long as whoever runs the server keeps them",
        Erasing.NONE,
    ),
    Kept(
        "Backups that whoever runs the server has made",
        "everybody",
        "so that nothing is lost",
        "as long as whoever runs the server keeps them. An old backup still holds who was erased later; when it is "
        "restored, the list of erasures is carried out again",
        Erasing.NONE,
    ),
    Kept(
        "The board as a tablet saw it last, and what waits on it to be sent",
        "who is on the board: numbers, and names as far as they may be shown there",
        "so that a class goes on without a network",
        "until the tablet reaches the server again, or is shut out",
        Erasing.DELETE,
    ),
    Kept(
        "Files that somebody exported or printed",
        "who stands in them",
        "because they asked for them",
        "as long as they keep them: the program cannot reach them",
        Erasing.NONE,
    ),
)
