"""An athlete's own page: the next step and what is missing, the last tries, the path so far, and nobody else's."""

import re
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import BodyMeasure, Guardianship, Gym
from athletes.services.private_links import make_link
from skills.core.timeline import Timeline
from skills.models import Attempt, StepTimeline
from skills.queries.books import book_of
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution
from skills.services.readiness import lock_athlete, rebuild_athlete
from tests.factories.athletes import make_athlete, make_guardian, make_login
from tests.factories.skills import decide, library, log, meet, page_of, pass_step, reach

PULLS = frozenset({"pulls-with-lats"})
HANGS = frozenset({"hangs-in-fingers"})


@pytest.fixture(autouse=True)
def _library(gym):
    library(gym)


@pytest.fixture
def page_of_ada(client_of, athlete_member):
    """Ada's page as she sees it now."""
    return lambda: client_of(athlete_member).get("/progress/").text


def words(html: str) -> str:
    """The text of a page, on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def part(html: str, heading: str) -> str:
    """The text from a second heading that begins so to the next."""
    _, rest = re.split(rf"<h2[^>]*>{heading}", html, maxsplit=1)
    return words(re.split(r"<h2|</main>", rest)[0])


def rows(html: str) -> list[list[str]]:
    """The body of the table beside the chart of the last tries."""
    tries = html[html.index('id="tries"') :]
    body = tries[tries.index("<tbody>") : tries.index("</tbody>")]
    return [re.findall(r"<td>([^<]*)</td>", row) for row in re.findall(r"<tr>.*?</tr>", body)]


# ---- The next step -----------------------------------------------------------------------------------------------


def test_the_first_step_needs_nothing_before_it(page_of_ada):
    told = part(page_of_ada(), "Next step: ")
    assert told.startswith("1 Tucked hold in a long-arm hang working on it in Bar pullover Nothing has to come before")
    assert "What is missing Three more clean holds of 5 s, on two more days It is passed with three clean" in told


def test_what_is_missing_shrinks_with_each_clean_hold(page_of_ada, coach, athlete):
    log(coach, athlete, "pullover-1", 5.0, days_ago=1)
    log(coach, athlete, "pullover-1", 5.0, days_ago=1)
    told = part(page_of_ada(), "Next step: ")
    assert "What is missing One more clean hold of 5 s, on another day It is passed" in told


def test_a_hold_a_tenth_too_short_is_still_missing(page_of_ada, coach, athlete):
    log(coach, athlete, "pullover-1", 4.9)
    assert "Three more clean holds of 5 s" in part(page_of_ada(), "Next step: ")


def test_a_passed_step_makes_room_for_the_one_that_it_opens(page_of_ada, coach, athlete):
    with time_machine.travel(datetime(2026, 11, 3, 18, tzinfo=UTC), tick=False):
        meet(coach, athlete, "pullover-1")
        told = part(page_of_ada(), "Next step: ")
    assert told.startswith("2 Straight legs up and held at the bar")
    assert "Open since 3 Nov 2026: 1 Tucked hold in a long-arm hang came first." in told


def test_a_step_that_waits_for_its_sign_off_says_so(page_of_ada, coach, athlete):
    for code in ("pullover-3", "pullover-2"):
        pass_step(coach, athlete, code)
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    page = page_of_ada()
    told = part(page, "Next step: ")
    assert "ready for sign-off" in told
    assert "Its criterion is met: a coach's sign-off finishes it." in told.replace("&#x27;", "'")
    assert "a coach's sign-off" in part(page, "Waiting for a coach").replace("&#x27;", "'")


def test_a_step_due_for_its_recheck_says_so(page_of_ada, coach, athlete):
    with time_machine.travel(datetime(2026, 9, 1, 18, tzinfo=UTC), tick=False):
        meet(coach, athlete, "pullover-1")
    with time_machine.travel(datetime(2026, 11, 3, 18, tzinfo=UTC), tick=False):
        told = part(page_of_ada(), "Next step: ")
    assert told.startswith("1 Tucked hold in a long-arm hang check again")
    assert "It was passed before and is due to be shown again." in told
    assert "due since 29 Sep 2026" in told


def test_without_an_open_step_the_coach_is_asked(client_of, other_gym):
    nobody = make_login(make_athlete(other_gym, "Noor Haddad"))
    assert "Ask your coach what comes next." in client_of(nobody).get("/progress/").text


# ---- Practice ----------------------------------------------------------------------------------------------------


def test_this_weeks_practice_and_the_checkpoints_are_the_steps(page_of_ada):
    page = page_of_ada()
    practice = part(page, "This week’s practice")
    assert practice.startswith("The week from Monday")
    assert "1 Tucked hold in a long-arm hang 3 sets of 3 holds of 5 s" in practice
    assert "Thumb closed around the bar on the far side." in part(page, "What a clean try shows")


def test_the_cue_of_the_last_fault_stands_first(page_of_ada, coach, athlete):
    log(coach, athlete, "pullover-1", 4.0, days_ago=3, faults=HANGS)
    log(coach, athlete, "pullover-1", 4.0, days_ago=2, faults=PULLS)
    log(coach, athlete, "pullover-1", 4.0, days_ago=1)
    cues = part(page_of_ada(), "Cues")
    assert cues.startswith(
        "Soft back, belly lifts seen last: Pulls with the lats Palm over, then close seen in the last tries: Hangs"
    )


def test_a_fault_of_a_voided_try_is_not_held_against_anybody(page_of_ada, coach, athlete):
    void_attempt(by=coach, attempt=log(coach, athlete, "pullover-1", 4.0, faults=PULLS), reason="wrong tile")
    assert "seen last" not in page_of_ada()


def test_safety_stands_before_the_practice_of_an_inverted_step(page_of_ada, coach, athlete):
    for code in ("pullover-3", "pullover-2"):
        pass_step(coach, athlete, code)
    reach(coach, athlete, "pullover-3a")
    page = page_of_ada()
    assert "This step turns the athlete upside down." in page
    assert page.index("Safety first") < page.index("This week’s practice")


def test_under_a_caution_the_swap_drill_takes_the_place_of_practice(page_of_ada, coach, athlete):
    enter_caution(
        by=coach,
        athlete=athlete,
        loads=frozenset({"hanging"}),
        from_at=timezone.now(),
        until_at=datetime(2099, 3, 1, 12, tzinfo=UTC),
        reason="sore hands",
    )
    page = page_of_ada()
    assert "Paused by a caution (no hanging) until 1 Mar 2099." in words(page)
    practice = part(page, "This week’s practice")
    assert practice.startswith(
        "The next step is paused: ask a coach before anything instead. Where coach and caution allow it, and nothing "
        "hurts: Tuck on the back."
    )
    assert "1 Tucked hold in a long-arm hang, 1 Active hang: paused by a caution." in practice
    assert "3 sets of 3 holds" not in page
    assert "sore hands" not in page


# ---- The last tries ----------------------------------------------------------------------------------------------


def test_the_last_holds_stand_as_a_chart_and_as_a_table(page_of_ada, coach, athlete):
    with time_machine.travel(datetime(2026, 11, 3, 23, 30, tzinfo=UTC), tick=False):
        log(coach, athlete, "pullover-1", 3.0, days_ago=1, faults=PULLS)
        log(coach, athlete, "pullover-1", 4.9, assistance="band")
        page = page_of_ada()
    drawn = page[page.index('id="tries"') :]
    assert drawn.count('<circle class="dot"') == 1
    assert drawn.count('<circle class="dot-open"') == 1
    assert drawn.count('<path class="target"') == 1
    # 23:30 in London is past midnight in Berlin, where the gym stands.
    assert rows(page) == [
        ["4 Nov 2026", "4.9", "1", "clean, help: band"],
        ["3 Nov 2026", "3.0", "1", "Pulls with the lats"],
    ]


def test_what_differs_by_less_than_a_stopwatch_can_tell_is_called_noise_with_its_source(page_of_ada, coach, athlete):
    log(coach, athlete, "pullover-1", 4.0)
    page = words(page_of_ada())
    assert "Differences below 0.3 s are noise" in page
    assert "Faux and Godolphin 2019" in page


def test_sets_are_charted_by_their_reps(page_of_ada, coach, athlete):
    pass_step(coach, athlete, "pullover-2")
    log(coach, athlete, "pullover-3", reps=2, grade=1)
    page = page_of_ada()
    assert "Last sets: 3 Strict pull-up begun by the tuck" in page
    assert [row[1:] for row in rows(page)] == [["2", "1", "clean"]]
    assert "noise" not in page


def test_own_entries_are_marked_as_such_in_the_picture_and_in_the_table(page_of_ada, athlete_member, athlete):
    log(athlete_member, athlete, "pullover-1", 4.0, source="own")
    page = page_of_ada()
    drawn = page[page.index('id="tries"') :]
    assert drawn.count('<rect class="dot"') == 1
    assert drawn.count('<circle class="dot"') == 0
    assert [row[1:] for row in rows(page)] == [["4.0", "1", "clean, own entry"]]


def test_sign_offs_tell_day_clearance_and_whose_they_are(page_of_ada, coach, athlete):
    with time_machine.travel(datetime(2026, 11, 3, 18, tzinfo=UTC), tick=False):
        pass_step(coach, athlete, "pullover-3")
        decide(coach, athlete, "pullover-3a", "entrance", clearance="alone")
        decide(coach, athlete, "pullover-3a", "entrance", decision="revoked", reason="Loses the bar.")
        page = page_of_ada()
    told = part(page, "Sign-offs")
    assert "3a Tucked inverted hang with the floor in reach May try it: revoked 3 Nov 2026, by Cleo Adeyemi ." in told
    assert "May try it: passed, alone 3 Nov 2026, by Cleo Adeyemi ." in told
    assert "Loses the bar" not in page


def test_voided_tries_are_neither_drawn_nor_listed(page_of_ada, coach, athlete):
    log(coach, athlete, "pullover-1", 4.0)
    void_attempt(by=coach, attempt=log(coach, athlete, "pullover-1", 50.0), reason="clock left running")
    assert [row[1] for row in rows(page_of_ada())] == ["4.0"]


def test_only_the_last_twenty_tries_are_shown(page_of_ada, coach, athlete):
    for tenths in range(25):
        log(coach, athlete, "pullover-1", 2 + tenths / 10, days_ago=30 - tenths)
    shown = [row[1] for row in rows(page_of_ada())]
    assert shown == [f"{(20 + tenths) / 10:.1f}" for tenths in range(24, 4, -1)]


def test_without_tries_there_is_no_empty_chart(page_of_ada):
    page = page_of_ada()
    assert "No tries at this step are written down yet." in page
    assert "chart-box" not in page


# ---- The path so far ---------------------------------------------------------------------------------------------


def test_the_path_tells_when_each_step_was_opened_and_passed(page_of_ada, coach, athlete):
    with time_machine.travel(datetime(2026, 11, 3, 18, tzinfo=UTC), tick=False):
        meet(coach, athlete, "pullover-1")
    with time_machine.travel(datetime(2026, 11, 10, 18, tzinfo=UTC), tick=False):
        meet(coach, athlete, "pullover-2")
        path = part(page_of_ada(), "The path so far")
    assert "1 Tucked hold in a long-arm hang passed Bar pullover. Always open, passed 3 Nov 2026." in path
    assert "2 Straight legs up and held at the bar passed Bar pullover. Opened 3 Nov 2026, passed 10 Nov 2026." in path
    assert "3 Strict pull-up begun by the tuck working on it Bar pullover. Opened 3 Nov 2026." in path


def test_an_empty_path_says_where_it_begins(page_of_ada):
    assert "the path begins with the next one" in part(page_of_ada(), "The path so far")


def test_a_step_that_waits_for_clearance_is_named(page_of_ada, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    waiting = part(page_of_ada(), "Waiting for a coach").replace("&#x27;", "'")
    assert waiting == "Bar pullover, 3a Tucked inverted hang with the floor in reach : a coach's clearance to try it"


def test_clearances_are_shown_as_they_hold_now(page_of_ada, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="alone")
    assert part(page_of_ada(), "Clearances held").endswith("with the floor in reach : alone")


def test_a_clearance_that_trouble_lowers_says_so(page_of_ada, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    decide(coach, athlete, "pullover-3a", "entrance", clearance="alone")
    evidence = athlete.attempts.filter(step__code="pullover-3").first()
    void_attempt(by=coach, attempt=evidence, reason="wrong athlete")
    kept = Timeline.from_json(StepTimeline.objects.get(athlete=athlete, step__code="pullover-3a").changes)
    assert kept.changes[-1].trouble
    held = part(page_of_ada(), "Clearances held")
    assert held.endswith(": spotted, a coach has to look at what leads there again")


# ---- Figures -----------------------------------------------------------------------------------------------------

OF_MASS = re.compile(r"\bN·m|kg·m²|\d J\b|63[.,]4")


def measured(athlete):
    BodyMeasure.objects.create(
        gym=athlete.gym, athlete=athlete, measured_on=timezone.localdate(), stature_m="1.72", mass_kg="63.45"
    )


def test_what_needs_a_mass_is_shown_to_the_athlete_and_by_no_private_link(client_of, coach, athlete, athlete_member):
    measured(athlete)
    assert "N·m" in words(client_of(athlete_member).get("/progress/").text)
    visitor = Client()
    visitor.get(reverse("link_open", args=[make_link(by=coach, athlete=athlete).token]))
    linked = words(visitor.get(reverse("linked")).text)
    assert "62 % of straight legs held level" in linked
    assert not OF_MASS.search(linked)


def test_what_needs_a_mass_is_shown_of_no_minor(client_of, coach, guardian, minor):
    measured(minor)
    assert not OF_MASS.search(words(client_of(guardian).get(reverse("progress_of", args=[minor.id])).text))
    assert not OF_MASS.search(words(client_of(coach).get(reverse("athlete", args=[minor.id])).text))


def test_each_figure_on_the_page_can_be_asked_where_it_comes_from(client_of, athlete, athlete_member, practised):
    measured(athlete)
    practised(30)
    page = client_of(athlete_member).get("/progress/").text
    figures = page.split('<div class="figure">')[1:]
    assert len(figures) > 5
    assert [figure for figure in figures if "<dt>Source</dt>" not in figure.split("</details>")[0]] == []


@pytest.mark.parametrize(
    ("table", "chosen"), [("de-leva-men", "de Leva 1996, men"), ("nobody's", "Winter 2009"), ("", "Winter 2009")]
)
def test_a_table_of_segments_is_chosen_by_its_key_and_any_other_word_is_none(client_of, athlete_member, table, chosen):
    page = client_of(athlete_member).get("/progress/", {"table": table}).text
    assert re.findall(r'<strong aria-current="true">([^<]*)</strong>', page) == [chosen]


# ---- Access ------------------------------------------------------------------------------------------------------


def test_an_athlete_sees_their_own_and_nobody_elses(client_of, athlete, athlete_member, minor):
    visitor = client_of(athlete_member)
    assert visitor.get(reverse("progress_of", args=[athlete.id])).status_code == 200
    assert visitor.get(reverse("progress_of", args=[minor.id])).status_code == 404


def test_an_athlete_cannot_open_pages_of_the_staff(client_of, athlete, athlete_member):
    visitor = client_of(athlete_member)
    for page in (reverse("today"), reverse("roster"), reverse("athlete", args=[athlete.id])):
        assert visitor.get(page).status_code == 403


def test_a_guardian_of_one_comes_straight_to_their_ward(client_of, guardian, minor):
    visitor = client_of(guardian)
    address = reverse("progress_of", args=[minor.id])
    assert visitor.get("/progress/")["Location"] == address
    page = visitor.get(address)
    assert "Progress of M. O." in page.text
    assert "Okafor" not in page.text


def test_a_guardian_of_two_chooses(client_of, gym, guardian, minor):
    other = make_athlete(gym, "Ike Okafor", birth_on=minor.person.birth_on)
    Guardianship.objects.create(gym=gym, guardian=guardian, athlete=other)
    page = client_of(guardian).get("/progress/")
    assert page.status_code == 200
    assert all(reverse("progress_of", args=[ward.id]) in page.text for ward in (minor, other))
    assert "Okafor" not in page.text


def test_a_guardian_sees_wards_only(client_of, guardian, minor, athlete):
    visitor = client_of(guardian)
    assert visitor.get(reverse("progress_of", args=[athlete.id])).status_code == 404
    Guardianship.objects.update(ended_at=timezone.now())
    assert visitor.get(reverse("progress_of", args=[minor.id])).status_code == 404
    assert "Nobody who practises here now is linked" in visitor.get("/progress/").text


def test_staff_have_another_page(client_of, coach, owner, athlete):
    for member in (coach, owner):
        assert client_of(member).get("/progress/").status_code == 403
        assert client_of(member).get(reverse("progress_of", args=[athlete.id])).status_code == 403


def test_another_gym_learns_nothing(client_of, other_gym, athlete, minor):
    theirs = make_athlete(other_gym, "Noor Haddad")
    for member in (make_login(theirs), make_guardian(theirs, "Sami Haddad")):
        visitor = client_of(member)
        assert visitor.get(reverse("progress_of", args=[athlete.id])).status_code == 404
        assert visitor.get(reverse("progress_of", args=[minor.id])).status_code == 404


def test_nobody_sees_it_without_signing_in(athlete, stranger, client_of):
    assert Client().get("/progress/").status_code == 302
    assert client_of(stranger).get("/progress/").status_code == 403


def test_the_page_is_kept_in_no_cache(client_of, athlete_member):
    assert client_of(athlete_member).get("/progress/")["Cache-Control"] == "no-store"


@pytest.fixture
def practised(coach, athlete):
    """Give Ada so many days of practice at the second step, four tries a day, none of them long enough."""

    def fill(days: int) -> None:
        pass_step(coach, athlete, "pullover-3")
        step, now = page_of(athlete.gym, "pullover-2"), timezone.now()
        rows = [
            Attempt(
                gym_id=athlete.gym_id,
                athlete=athlete,
                step_id=step.id,
                logged_by=coach,
                happened_at=(at := now - timedelta(hours=6 * number + 1)),
                recorded_at=at,
                hold_tenths=30 + number % 19,
                source="own" if number % 4 == 3 else "judged",
                faults=[] if number % 3 else [step.faults[0][0]],
            )
            for number in range(4 * days)
        ]
        Attempt.objects.bulk_create(rows, batch_size=2000)
        with transaction.atomic():
            rebuild_athlete(book=book_of(athlete.gym), athlete=lock_athlete(athlete.id), now=now, store=True)

    return fill


@pytest.mark.parametrize("days", [0, 30, 5 * 365])
def test_queries_do_not_grow_with_the_history(client_of, practised, athlete_member, django_assert_num_queries, days):
    practised(days)
    visitor = client_of(athlete_member)
    book_of(athlete_member.athlete.gym)
    with django_assert_num_queries(33):
        first = visitor.get("/progress/")
    with django_assert_num_queries(27):  # how it stands at the next step is kept until a fact is new
        again = visitor.get("/progress/")
    assert first.context["words"] == again.context["words"]


def test_what_is_read_does_not_grow_with_the_history(client_of, practised, athlete_member):
    practised(5 * 365)
    page = client_of(athlete_member).get("/progress/")
    progress = page.context["progress"]
    assert progress.next.whole.page.code == "pullover-2"
    assert len(progress.next.tries) == 20
    assert len(page.text) < 120_000


def test_what_lacks_a_consent_is_not_the_next_step_and_says_so(client_of, coach, athlete_member):
    athlete = athlete_member.athlete
    reach(coach, athlete, "pullover-3a")
    pass_step(coach, athlete, "pullover-2")
    client = client_of(athlete_member)
    before = client.get("/progress/").context["progress"]
    assert (before.next.whole.page.code, before.no_consent) == ("pullover-3a", ())
    Gym.objects.filter(pk=coach.gym_id).update(asks_consent=True)
    page = client.get("/progress/")
    assert page.context["progress"].next.whole.page.code != "pullover-3a"
    assert "No consent to going upside down: steps that ask for it wait until it is given." in page.content.decode()
