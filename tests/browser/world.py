"""A gym in the middle of its work: long names in several scripts, and something on every page."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.urls import reverse
from django.utils import timezone

from athletes.models import Athlete, Gym, Invitation, Membership, Tablet
from athletes.services.contacts import save_contact
from athletes.services.invitations import invite_athlete, invite_guardian, invite_staff
from athletes.services.private_links import make_link
from athletes.services.screenings import enter_screening
from athletes.services.tablets import add_tablet, note_contact, revoke_tablet
from athletes.services.tokens import make_token
from gymtrack.lib.ids import new_id
from skills.core.portions import Portion
from skills.core.weeks import monday_of
from skills.models import Incident, TrainingSession
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution, note_skin
from skills.services.doses import DoseOrder, change_dose
from skills.services.safety import (
    CheckEntry,
    IncidentEntry,
    add_incident_note,
    check_equipment,
    log_incident,
)
from skills.services.sessions import end_session
from tests.factories.athletes import make_athlete, make_certificate, make_consent, make_measure, years_before_today
from tests.factories.bars import check_hole, make_high_bar, make_low_bar
from tests.factories.class_plans import make_place, make_plan
from tests.factories.skills import (
    days_before_now,
    decide,
    library,
    log,
    measure_angle,
    meet,
    page_of,
    pass_step,
    reach,
    start_class,
    step_of,
)
from tests.helpers import floor

NAMES = (
    "Maximiliane-Friederike von Hohenstaufen-Waldeck",
    "محمد الإدريسي",
    "長谷川 美智子",
    "Żółć Gęślą-Jaźń",
    "Bo Li",
)


@dataclass(frozen=True)
class World:
    """Its records by name, for the addresses of its pages."""

    gym: Gym
    athlete: Athlete
    minor: Athlete
    running: TrainingSession
    ids: Mapping[str, list[Any]]

    def address(self, name: str) -> str:
        return reverse(name, args=self.ids.get(name, []))


def build(owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete) -> World:
    """Ada is past her first inversion, Mia waits for hers under a caution; others have just begun."""
    gym = owner.gym
    library(gym, owner)
    measure_angle(gym, "pullover-2", "legs from straight down, 90 is level")
    others = [make_athlete(gym, name, birth_on=years_before_today(12 + 5 * place)) for place, name in enumerate(NAMES)]
    pass_step(coach, athlete, "pullover-3a")
    reach(coach, minor, "pullover-3a")
    _papers(owner, coach, athlete, minor)
    _invited(owner, coach, minor)
    _yesterday(coach, athlete, others)
    running = _today(coach, athlete, minor, others)
    mistaken = log(coach, athlete, "pullover-2", 4.1, session=running, faults=("knees-give",), note="left knee first")
    void_attempt(by=coach, attempt=log(coach, athlete, "pullover-2", 9.9, session=running), reason="Wrong athlete")
    dosed = DoseOrder(monday_of(timezone.localdate(timezone=gym.zone)), Portion(2, 1, 10, 120, 2), "Grip tires first.")
    change_dose(by=coach, athlete=athlete, step=page_of(gym, "pullover-2"), order=dosed)
    log(coach, minor, "pullover-1", 5.0, reps=3, source="own")
    of_try = {name: [mistaken.id] for name in ("attempt_void", "attempt_angle")}
    return World(gym, athlete, minor, running, _ids(owner, coach, athlete, minor, running) | of_try)


def _papers(owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete) -> None:
    """A certificate that ends soon and one without end; a consent that stands and one that was withdrawn."""
    make_certificate(coach, by=owner, kind="first_aid", valid_until=timezone.localdate() + timedelta(days=9))
    make_certificate(coach, by=owner, kind="safeguarding")
    make_consent(minor, by=coach, kind="spotting")
    make_consent(minor, by=coach, given=False)
    for called in (athlete, minor):
        save_contact(
            by=coach, athlete=called, contact_id=new_id(), name=NAMES[0], relation="grandmother", phone="+49 30 1234567"
        )
    enter_screening(by=coach, athlete=minor, done_on=date(2025, 1, 7), expires_on=date(2025, 12, 31))
    make_consent(minor, by=coach, kind="link")
    make_link(by=coach, athlete=minor)


def _invited(owner: Membership, coach: Membership, minor: Athlete) -> None:
    """Invitations that wait, one under a long name; one that has run out."""
    for name, email, role in (
        (NAMES[0], "maximiliane-friederike.von-hohenstaufen@waldeck.example", "coach"),
        (NAMES[1], "", "owner"),
    ):
        invite_staff(by=owner, full_name=name, email=email, role=role, rights=frozenset({"may_log"}))
    invite_guardian(by=coach, athlete=minor, full_name=NAMES[3], email="")
    make_consent(minor, by=coach, kind="login")
    late = invite_athlete(by=coach, athlete=minor, email="mia@home.example").invitation
    past = timezone.now() - timedelta(days=20)
    Invitation.objects.filter(pk=late.pk).update(made_at=past, until_at=past + timedelta(days=14))


def _yesterday(coach: Membership, athlete: Athlete, others: list[Athlete]) -> None:
    """A class that has ended, and a step that waits for its sign-off since."""
    ended = start_class(coach, athlete, *others, name="Open gym of the long evening")
    for place, other in enumerate(others):
        log(coach, other, "pullover-1", 3.0 + place, session=ended, days_ago=1)
    end_session(by=coach, session=ended)
    meet(coach, others[0], "pullover-1", days_ago=1)


def _today(coach: Membership, athlete: Athlete, minor: Athlete, others: list[Athlete]) -> TrainingSession:
    running = start_class(coach, athlete, minor, *others, name="Monday 18:00 class", focus="pullover-2")
    log(coach, others[1], "pullover-1", 4.1, session=running, faults=("shoulders-close",), assistance="band")
    meet(coach, minor, "pullover-3a")
    decide(coach, minor, "pullover-3a", decision="not_yet", reason="Breath held on each of the three.")
    in_a_week = timezone.now() + timedelta(days=7)
    for held, loads, until_at in ((minor, {"inversion", "straight_arm"}, in_a_week), (others[2], {"hanging"}, None)):
        enter_caution(
            by=coach,
            athlete=held,
            loads=frozenset(loads),
            from_at=days_before_now(0),
            until_at=until_at,
            reason="Fell on the left wrist at school.",
        )
    return running


def _tablets(owner: Membership, coach: Membership) -> Tablet:
    """One that waits for its code, one that was shut out, and one that a coach holds, with a clock that is wrong."""
    add_tablet(by=owner, name="spare one")
    revoke_tablet(by=owner, tablet=floor.enrolled(owner, name="the cracked one").tablet)
    device = floor.enrolled(owner)
    floor.held(device, coach)
    now = timezone.now()
    note_contact(tablet=device.tablet, received_at=now, sent_at=now - timedelta(hours=3, minutes=7))
    return device.tablet


def _safety(coach: Membership, minor: Athlete, running: TrainingSession) -> Incident:
    """Torn skin, a piece of equipment that is not fit, one that is, and an incident with a note."""
    now = timezone.now()
    note_skin(by=coach, athlete=minor, happened_at=now)
    check_equipment(
        by=coach, entry=CheckEntry(item="Rings by the window", fit=False, reason="The left strap is frayed.")
    )
    found = ("bar", "hooks", "holes")
    check_equipment(by=coach, entry=CheckEntry(item="Rig", fit=True, found=found, hole_left=12, hole_right=12))
    words = (
        "Slipped off in the swing and sat down on the mat. Water, ten minutes on the bench, then watched the others."
    )
    said = IncidentEntry("fall", now, words, athlete=minor, session=running, first_aid=True, guardian_told=True)
    incident = log_incident(by=coach, entry=said)
    add_incident_note(by=coach, incident=incident, words="A second mat lies behind the bar since.")
    return incident


def _bars(coach: Membership, athlete: Athlete, running: TrainingSession) -> dict[str, list[Any]]:
    """A tied bar beneath a high one, set too high for somebody, and a high one of which little is known."""
    low = make_low_bar(coach.gym, "low bar with a long name, beneath the beam by the window", ceiling_mm=2400)
    make_high_bar(coach.gym, clear_front_mm=1600)
    make_measure(athlete)
    check_hole(coach, low, 22)
    make_place(coach.gym, "low bar beneath the beam, by the window", "low_bar", bar=low, spot_from="on a box, left")
    high = make_place(coach.gym, "high bar", "high_bar", capacity=1, spot_from="in front")
    make_plan(coach, running)
    of_bar = ("bar_change", "bar_retire", "bar_set")
    return {
        "set_bar": [athlete.id, "pullover-6"],
        "share_bar": [running.id],
        **{name: [running.id] for name in ("class_plan", "class_wall")},
        "class_plan_person": [running.id, athlete.id, 1],
        **{name: [high.id] for name in ("work_place_change", "work_place_retire")},
        **{name: [low.id] for name in of_bar},
    }


def _ids(
    owner: Membership, coach: Membership, athlete: Athlete, minor: Athlete, running: TrainingSession
) -> dict[str, list[Any]]:
    """What the addresses of pages are made of, by the name of the page."""
    of_minor = ("athlete_change", "athlete_login", "athlete_guardian", "progress_of", "caution_add")
    of_session = ("session", "session_present", "session_end")
    this_month = f"{timezone.localdate():%Y-%m}"
    return {
        "staff_rights": [coach.id],
        "staff_end": [coach.id],
        "certificates": [coach.id],
        "factor_reset": [coach.id],
        **{name: [minor.id] for name in ("consents", "contacts", "screenings", "measures")},
        **_bars(coach, athlete, running),
        "token_revoke": [make_token(by=owner, name="door tablet").token.id],
        "tablet_revoke": [_tablets(owner, coach).id],
        "athlete": [athlete.id],
        "doses": [athlete.id],
        "dose_change": [athlete.id, "pullover-2"],
        "own_practice": [minor.id],
        "incident": [_safety(coach, minor, running).id],
        "erasure": [athlete.person_id],
        "erasure_ward": [minor.id],
        "archive_of": [athlete.person_id],
        "who_sees_of": [minor.id],
        "private_links": [minor.id],
        "why": [athlete.id, "pullover-3a"],
        "proof_choose": [athlete.id],
        "proof": [athlete.id, f"{timezone.localdate()}"],
        **{name: [minor.id] for name in of_minor},
        **{name: [running.id] for name in of_session},
        "session_athlete": [running.id, athlete.id],
        **{name: ["bar-pullover"] for name in ("skill", "skill_change", "step_add")},
        "step_change": ["bar-pullover", "pullover-3a"],
        "step": ["bar-pullover", "pullover-3a"],
        "criterion_curve": ["bar-pullover", "pullover-3a"],
        "criterion_edit": ["bar-pullover", "pullover-3a"],
        "sign_off": [athlete.id, step_of(owner.gym, "pullover-3a").id, "finish"],
        "month_of": [this_month],
    }
