"""What the acts of the audit chain are called: one sentence for each, told after the name of who did it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from athletes.core.consents import WORDS as CONSENTS

# Words in braces stand in the act's content. Acts that no code writes any more stay: old chains have them.
SENTENCES: Final[Mapping[str, str]] = {
    # The gym and its staff
    "gym_founded": "founded the gym",
    "gym_changed": "changed the gym’s settings",
    "coach_added": "added a coach",
    "rights_changed": "changed the rights of a coach",
    "membership_ended": "ended a membership ({role})",
    "certificate_entered": "entered a certificate: {kind}",
    "certificate_reminder_sent": "a mail reminded of a certificate that ends: {kind}",
    "second_factor_reset": "took away a second factor that was lost",
    "account_reclaimed": "a password was chosen anew by mail, and other ways into the account were taken away",
    "key_made": "made a key for programs",
    "key_revoked": "revoked a key for programs",
    # Invitations and log-ins
    "invitation_made": "invited somebody as {role}",
    "invitation_renewed": "made an invitation anew",
    "invitation_used": "took up an invitation",
    "invitation_revoked": "took back an invitation",
    "login_given": "gave an athlete a log-in",
    "login_ended": "ended an athlete’s log-in",
    "guardian_added": "added a guardian",
    "guardianship_ended": "ended a guardian’s link",
    "link_made": "made a private link",
    "link_revoked": "took back a private link",
    # The roster
    "athlete_enrolled": "put an athlete on the roster",
    "guest_enrolled": "put a guest on the roster",
    "athlete_changed": "changed what is known of an athlete",
    "roster_enrolled": "put a roster in",
    "contact_changed": "changed whom to call",
    "body_measured": "noted measures of a body",
    "screening_entered": "noted a readiness screening",
    "consent_recorded": "wrote down a consent: {kind}, {given}",
    # Tablets
    "tablet_added": "let a tablet in",
    "tablet_enrolled": "enrolled a tablet by its code",
    "tablet_revoked": "shut a tablet out",
    "tablet_left": "noted that a tablet was left",
    "handed_over": "took over a tablet",
    "code_set": "set a code for tablets",
    "code_locked": "locked a coach’s code after wrong tries",
    # Training
    "session_started": "started a class",
    "session_ended": "ended a class",
    "presence_marked": "marked somebody as here",
    "absence_marked": "marked somebody as not here",
    "step_chosen": "chose a step",
    "class_planned": "planned a class",
    "rotation_marked": "began a rotation of a class",
    "attempt_logged": "logged an attempt",
    "attempt_voided": "took back an attempt",
    "dose_changed": "changed a week’s practice",
    "signed_off": "decided at a step: {decision}",
    "caution_entered": "entered a caution",
    "caution_lifted": "lifted a caution",
    "skin_note_entered": "noted torn skin",
    "attempts_imported": "imported attempts",
    "sessions_imported": "imported classes",
    # Safety
    "bar_added": "added a bar",
    "bar_changed": "changed a bar",
    "bar_checked": "checked a low bar",
    "bar_retired": "took a bar out of use",
    "work_place_added": "added a station",
    "work_place_changed": "changed a station",
    "work_place_retired": "took a station out of use",
    "equipment_checked": "checked equipment",
    "risk_notes_read": "read the risk notes of a step",
    "incident_logged": "logged an incident",
    "incident_note_added": "added to an incident",
    # What is taught
    "skill_saved": "changed a skill",
    "skills_installed": "took in the skills of the library",
    "criterion_adopted": "adopted a criterion",
    # Erasure and keeping
    "erasure_asked": "asked for erasure",
    "erasure_refused": "refused an erasure",
    "erased": "erased what was kept about somebody ({cause})",
    "retention_applied": "let go what had been kept long enough",
    "archive_taken": "took an archive of what is kept about somebody",
    "demo_filled": "filled the demonstration",
}

NOBODY: Final = "The server"  # who acts where no member does

_CODES: Final[dict[object, str]] = {
    **dict[object, str](CONSENTS.items()),
    "not_yet": "not yet",
    "first_aid": "first aid",
    "asked": "asked for",
    "retention": "its time was over",
    "restored": "again, after a backup was restored",
    True: "given",
    False: "withdrawn",
}


def act_sentence(act: str, content: Mapping[str, Any]) -> str:
    """Return what was done, as it goes on after a name: 'logged an attempt'."""
    return SENTENCES.get(act, act.replace("_", " ")).format_map(_Words(content))


class _Words(dict[str, Any]):
    def __getitem__(self, name: str) -> str:
        found = self.get(name)
        return "not said" if found is None else _CODES.get(found, str(found))

    def __missing__(self, name: str) -> str:
        return "not said"
