"""Skills as people of the gym read them: the list, each graph, each step whole."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from skills.queries.books import book_of
from tests.factories.athletes import make_athlete, make_measure
from tests.factories.skills import library, log, pass_step, reach, step_of

PULLOVER = "/skills/bar-pullover/"


@pytest.fixture(autouse=True)
def _library(gym):
    library(gym)


def words(html: str) -> str:
    """The text of a page, on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def part(html: str, heading: str) -> str:
    """The text between one second heading and the next."""
    _, rest = re.split(rf"<h2[^>]*>{heading}</h2>", html)
    return words(re.split(r"<h2|</main>", rest)[0])


# ---- The list ----------------------------------------------------------------------------------------------------


def test_the_list_names_every_skill_with_its_purpose_and_number_of_steps(client_of, coach):
    page = client_of(coach).get("/skills/")
    assert page.status_code == 200
    assert page.text.count('class="skill-card"') == 8
    assert "Bar pullover" in page.text
    assert "turn the whole body over the bar in one strict piece" in words(page.text)
    assert "10 steps" in page.text
    assert "passed" not in page.text


def test_an_athlete_sees_their_own_place_in_each_skill(client_of, coach, athlete, athlete_member):
    pass_step(coach, athlete, "pullover-1")
    page = words(client_of(athlete_member).get("/skills/").text)
    assert "10 steps, 1 passed Next: 2 Straight legs up and held at the bar working on it" in page


def test_a_side_drill_is_nobodys_next_step(client_of, coach, athlete, athlete_member):
    for code in ("pullover-4", "pullover-2", "pullover-5a"):
        pass_step(coach, athlete, code)
    reach(coach, athlete, "pullover-5")
    assert "Next: 5 Paused" not in words(client_of(athlete_member).get("/skills/").text)


def test_a_step_says_which_angle_is_measured(client_of, coach):
    page = client_of(coach).get("/skills/l-hold/l-hold-4/").text
    assert part(page, "Angle").startswith("Can be measured with each try, in whole degrees: legs from straight down")
    assert "whole degrees" not in client_of(coach).get("/skills/l-hold/l-hold-3/").text


def test_a_gym_without_skills_says_so(client_of, other_coach):
    assert "This gym teaches no skills yet." in client_of(other_coach).get("/skills/").text


# ---- The graph ---------------------------------------------------------------------------------------------------


def drawn(html: str) -> str:
    """The drawing of the page."""
    return html[html.index('<svg class="graph"') : html.index("</svg>\n</div>")]


def test_the_graph_draws_every_step_once_and_each_links_to_its_page(client_of, coach):
    drawing = drawn(client_of(coach).get(PULLOVER).text)
    links = re.findall(r'<a class="graph-step[^"]*" href="([^"]+)"', drawing)
    codes = ("1", "2", "3", "3a", "4", "5", "5a", "6", "7", "8")
    assert links == [f"{PULLOVER}pullover-{code}/" for code in codes]
    assert drawing.count('class="graph-line"') == 12


def test_gates_and_side_drills_are_told_in_words(client_of, coach):
    drawing = drawn(client_of(coach).get(PULLOVER).text)
    assert drawing.count(">asks clearance</text>") == 6
    assert drawing.count(">side drill</text>") == 1
    assert 'aria-label="5 Paused inversion, feet shot beyond the bar side drill asks clearance"' in drawing


def test_steps_of_other_skills_stand_in_the_drawing_as_outside(client_of, coach):
    drawing = drawn(client_of(coach).get("/skills/toes-to-bar/").text)
    outside = re.findall(r'<a class="graph-step graph-outside" href="([^"]+)"', drawing)
    assert outside == [f"{PULLOVER}pullover-1/", f"{PULLOVER}pullover-2/"]


def test_the_list_says_the_same_as_the_drawing(client_of, coach):
    page = client_of(coach).get("/skills/ring-muscle-up/").text
    told = part(page, "The steps in order")
    assert "1 Ring support hold Nothing has to come first." in told
    assert "4 False-grip pull to the lower chest After 2 and Strict pull-up to chest-to-bar 6." in told
    assert "5 Turn on low rings, feet on the floor After 2 and 3. Asks clearance. Finished by a sign-off." in told


def test_an_athlete_sees_their_state_at_each_step_in_word_and_shape(client_of, coach, athlete, athlete_member):
    pass_step(coach, athlete, "pullover-1")
    page = client_of(athlete_member).get(PULLOVER).text
    drawing = drawn(page)
    assert drawing.count(">passed</text>") == 1
    assert drawing.count(">working on it</text>") == 3
    assert drawing.count(">closed</text>") == 6
    assert drawing.count('<svg class="state-mark"') == 10
    assert "1 Tucked hold in a long-arm hang passed" in part(page, "The steps in order")


def test_staff_and_guardians_see_nobodys_state(client_of, coach, guardian):
    for member in (coach, guardian):
        assert "state-mark" not in client_of(member).get(PULLOVER).text


def test_the_drawing_has_no_inline_style(client_of, coach):
    assert "style=" not in client_of(coach).get(PULLOVER).text


def test_a_skill_that_the_gym_does_not_teach_is_not_found(client_of, coach, other_coach):
    assert client_of(coach).get("/skills/cartwheel/").status_code == 404
    assert client_of(other_coach).get(PULLOVER).status_code == 404


# ---- A step whole ------------------------------------------------------------------------------------------------


@pytest.fixture
def turn(client_of, coach) -> str:
    """The page of the step with the most to say: inverted, over the bar, on a low bar."""
    return client_of(coach).get(f"{PULLOVER}pullover-6/").text


def test_safety_comes_first_where_a_step_goes_over_the_bar(turn):
    headings = re.findall(r"<h2[^>]*>(?:<svg.*?</svg> )?([^<]+)</h2>", turn)
    assert headings[0] == "Safety first"
    safety = words(turn[turn.index('id="safety"') : turn.index("</section>")])
    assert "This step goes over the bar. Nobody tries it before a coach has cleared them for it." in safety
    assert "checked today and by name before the first try: tied down at both hooks" in safety
    assert "Hooks, ties and loads follow the rack maker&#x27;s instructions" in safety
    assert "Asks of the body: hanging, inversion, pulling, support, straight-arm load, landing." in safety
    assert "Local codes, the equipment maker’s instructions and licensed professionals come first" in safety


def test_cautions_stand_with_the_rest_where_nobody_is_turned_over(client_of, coach):
    page = client_of(coach).get(f"{PULLOVER}pullover-1/").text
    assert "Safety first" not in page
    assert page.index(">Set-up</h2>") < page.index(" Cautions</h2>")
    assert "An open tear in the palm keeps hands off the bar" in page


def test_faults_stand_with_the_cue_that_mends_each_and_danger_in_words(turn):
    faults = part(turn, "Faults, and the cue that mends each")
    assert "Jumps away from the bar “Jump up and in”" in faults
    assert "Lets go before the hips are on the bar dangerous “Hold till hips sit”" in faults
    assert faults.count("dangerous") == 1


def test_every_part_of_the_step_is_told(turn):
    assert "The first time all the way over" in turn
    assert "Rig anchored to floor or wall." in part(turn, "Set-up")
    assert "When stuck across the bar" in part(turn, "Getting down")
    assert "Hands shift a little, only once the weight is on top." in part(turn, "What a clean try shows")
    assert "Feet begin on a low step in front" in part(turn, "Easier forms that are accepted")
    assert part(turn, "This week’s practice") == "4 sets of 2 reps, 90 s rest in between, on 2 days a week."
    assert "Slow backward roll down a wedge. Sit at" in part(turn, "Without a bar, or under a caution")
    assert "the rests, what has to come first, the mats, getting down." in words(turn)


def test_when_it_is_passed_is_told_with_its_gates_and_recheck(turn):
    passed = part(turn, "When it is passed")
    assert "Criterion: three clean judged sets of 1 rep or more, on two days." in passed
    assert "it asks for a clearance before the first try" in passed
    assert "A coach finishes it with a sign-off" in passed
    assert "To be shown again within 56 days" in passed


def test_an_automatic_step_says_that_it_opens_and_passes_by_itself(client_of, coach):
    passed = part(client_of(coach).get(f"{PULLOVER}pullover-3/").text, "When it is passed")
    assert "It opens by itself as soon as the steps before it are passed." in passed
    assert "It passes by itself as soon as the criterion is met." in passed


def test_grades_are_told_from_the_lowest(client_of, coach):
    page = client_of(coach).get(f"{PULLOVER}pullover-3/").text
    assert part(page, "Grades") == "chin collarbone chest"


def test_what_comes_first_and_what_it_opens_are_links(client_of, coach):
    page = client_of(coach).get(f"{PULLOVER}pullover-1/").text
    _, ways = page.split(">It opens</h3>")
    assert re.findall(r'href="(/skills/[^"]+)"', ways) == [
        f"{PULLOVER}pullover-2/",
        f"{PULLOVER}pullover-3/",
        f"{PULLOVER}pullover-6/",
        "/skills/toes-to-bar/toes-2/",
        "/skills/skin-the-cat/skin-2/",
    ]
    assert "Comes first Nothing has to come first." in words(page)


def test_an_athlete_sees_how_they_stand_at_the_step(client_of, coach, athlete, athlete_member):
    pass_step(coach, athlete, "pullover-1")
    assert "You: passed" in words(client_of(athlete_member).get(f"{PULLOVER}pullover-1/").text)


def test_a_step_is_found_under_its_own_skill_alone(client_of, coach, other_coach):
    assert client_of(coach).get("/skills/toes-to-bar/pullover-1/").status_code == 404
    assert client_of(coach).get(f"{PULLOVER}pullover-99/").status_code == 404
    assert client_of(other_coach).get(f"{PULLOVER}pullover-1/").status_code == 404


# ---- Levers ------------------------------------------------------------------------------------------------------


def test_staff_choose_whose_body_the_figures_are_for(client_of, coach, athlete, other_gym):
    make_measure(athlete)
    address, stranger = f"{PULLOVER}pullover-1/", make_athlete(other_gym, "Otto Nord")
    nobody = client_of(coach).get(address).text
    assert "62 % of straight legs held level" in words(nobody)
    assert "N·m" not in nobody
    page = client_of(coach).get(address, {"athlete": athlete.id, "table": "de-leva-men"}).text
    assert re.search(r"\d\d N·m", page)
    assert "66 % of straight legs held level" in words(page)
    for other in (stranger.id, "luck", ""):
        assert "N·m" not in client_of(coach).get(address, {"athlete": other}).text


def test_an_athlete_sees_their_own_levers_and_nobody_elses(client_of, athlete, athlete_member, gym):
    make_measure(athlete)
    other = make_athlete(gym, "Pia Holt")
    make_measure(other, stature_m="1.500", mass_kg="45.00")
    address = f"{PULLOVER}pullover-1/"
    own = client_of(athlete_member).get(address).text
    assert "68.5 kg" in own
    page = client_of(athlete_member).get(address, {"athlete": other.id}).text
    assert ("68.5 kg" in page, "45.0 kg" in page, "Pia" in page) == (True, False, False)


def test_a_guardian_sees_a_wards_levers_without_what_needs_the_mass(client_of, guardian, minor):
    make_measure(minor)
    page = client_of(guardian).get(f"{PULLOVER}pullover-7/").text
    assert "3 to 4 times less than a straight body" in page
    assert "The centre of mass rises by" in page
    assert not re.search(r"\d (N·m|kg·m²|J|kg)\b", page)


def test_set_up_estimate_and_trend_stand_for_whom_was_chosen(client_of, coach, athlete):
    address = f"{PULLOVER}pullover-1/"
    names = ("Set-up for this body", "Estimate for this hold", "Trend")
    nobody = client_of(coach).get(address).text
    assert [f"<h3>{name}</h3>" in nobody for name in names] == [False, False, False]
    page = client_of(coach).get(address, {"athlete": athlete.id}).text
    assert [f"<h3>{name}</h3>" in page for name in names] == [True, True, True]
    reps = client_of(coach).get(f"{PULLOVER}pullover-3/", {"athlete": athlete.id}).text
    assert [f"<h3>{name}</h3>" in reps for name in names] == [True, False, False]


def test_a_step_says_where_it_is_done(client_of, coach):
    assert part(client_of(coach).get(f"{PULLOVER}pullover-6/").text, "Set-up").startswith("Where: low bar.")


# ---- Access and queries ------------------------------------------------------------------------------------------

PAGES = ("/skills/", PULLOVER, f"{PULLOVER}pullover-6/")


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("role", ["owner", "coach", "coach_two", "athlete_member", "guardian"])
def test_everybody_of_the_gym_may_read(request, client_of, page, role):
    response = client_of(request.getfixturevalue(role)).get(page)
    assert response.status_code == 200
    assert response["Cache-Control"] == "no-store"


@pytest.mark.parametrize("page", PAGES)
def test_nobody_else_may(client_of, stranger, page):
    assert Client().get(page)["Location"] == f"{reverse('account_login')}?next={page}"
    assert client_of(stranger).get(page).status_code == 403


def test_each_gym_reads_its_own_copy(client_of, other_gym, other_coach):
    library(other_gym)
    step = step_of(other_gym, "pullover-6")
    step.purpose = "Our own way over."
    step.save(update_fields=["purpose"])
    assert "Our own way over." in client_of(other_coach).get(f"{PULLOVER}pullover-6/").text


@pytest.mark.parametrize("holds", [1, 30])
def test_queries_do_not_grow_with_the_history(client_of, coach, athlete_member, django_assert_num_queries, holds):
    for _ in range(holds):
        log(coach, athlete_member.athlete, "pullover-1", 4.0)
    visitor = client_of(athlete_member)
    book_of(athlete_member.athlete.gym)
    for page, queries in zip(PAGES, (5, 5, 12), strict=True):
        with django_assert_num_queries(queries):
            visitor.get(page)
