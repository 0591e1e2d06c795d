"""Writing a criterion by plain forms: build, see the sentence, try, adopt; bad input is a sentence, never a crash."""

import json
import re
from html import unescape
from urllib.parse import urlencode

import pytest
from django.http import QueryDict
from django.urls import reverse

from athletes.models import AuditEntry
from skills.core.criteria import canonical, parse
from skills.core.criterion_edits import Draft
from skills.core.criterion_form import MOST_LEAVES, MOST_LEVELS
from skills.core.standards import FIRST_STANDARD, FULL_STANDARD
from skills.forms.criteria import draft_sent
from skills.models import CriterionVersion
from skills.queries.books import book_of
from skills.queries.criteria import latest_number
from skills.services.criteria import adopt_criterion
from tests.factories.athletes import Role, make_athlete, make_member
from tests.factories.skills import library, log, meet, page_of, reach

AT = ["bar-pullover", "pullover-1"]
IN_REPS = ["bar-pullover", "pullover-5"]
CLEARED = ["bar-pullover", "pullover-3a"]
HX = {"HX-Request": "true"}
HOLDS = {"c-word": "holds", "c-count": "3", "c-seconds": "20", "c-dates": "2", "c-clean": "yes"}


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


@pytest.fixture
def client(client_of, owner):
    return client_of(owner)


def edit(client, at=AT, sent=None, **more):
    return client.post(reverse("criterion_edit", args=at), {**(sent or {}), **more})


def send(client, address, fields):
    """Send fields, one or several texts each, as a browser does."""
    return client.post(address, urlencode(fields, doseq=True), "application/x-www-form-urlencoded")


def trial(client, sent, at=AT):
    return client.post(reverse("criterion_trial", args=at), sent)


def adopt(client, tree, instead_of=1, at=AT):
    return client.post(reverse("criterion_adopt", args=at), {"tree": tree, "instead_of": instead_of})


def told(response):
    """What the editor says of the draft: its sentence, or what is wrong."""
    return words(part(r'(<div id="told".*?</div>)\s*<button', response.text))


def part(pattern, html):
    found = re.search(pattern, html, re.DOTALL)
    assert found, pattern
    return found[1]


def words(html):
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", html).split()))


def beside(response, field):
    """What stands in the box of mistakes of a field."""
    return words(part(rf'<div class="wrong" id="{field}-wrong"[^>]*>(.*?)</div>', response.text))


def sent_by(response):
    """All fields of the editor, as a browser would send them."""
    rule = response.text[response.text.index('<form id="rule"') :]
    fields = QueryDict(mutable=True)
    for tag in re.findall(r"<input[^>]*>|<select.*?</select>", rule, re.DOTALL):
        name = part(r'name="([^"]+)"', tag)
        if tag.startswith("<select"):
            chosen = re.findall(r'<option value="([^"]*)" selected', tag) or re.findall(r'<option value="([^"]*)"', tag)
            fields.appendlist(name, unescape(chosen[0]))
        elif 'type="checkbox"' not in tag or " checked" in tag:
            value = re.search(r'value="([^"]*)"', tag)
            fields.appendlist(name, unescape(value[1]) if value else "")
    fields.pop("csrfmiddlewaretoken", None)
    return fields


# ---- The editor ---------------------------------------------------------------------------------------------------


def test_it_begins_with_the_criterion_in_force(client):
    response = client.get(reverse("criterion_edit", args=AT))
    assert told(response).startswith("The step is met with three clean judged holds of 5 s or longer, on two days.")


def test_what_a_page_holds_comes_back_as_the_same_page(client):
    page = client.get(reverse("criterion_edit", args=AT))
    again = send(client, reverse("criterion_edit", args=AT), dict(sent_by(page).lists()))
    assert sent_by(again) == sent_by(page)
    assert told(again) == told(page)


def test_the_sentence_follows_what_is_typed(client):
    response = edit(client, sent={**HOLDS, "c-sessions": "2", "c-window_days": "14"})
    assert "three clean judged holds of 20 s or longer, in two sessions, on two days, within 14 days." in told(response)


def test_htmx_gets_the_sentence_alone_and_the_mistakes_beside_their_fields(client):
    sent = {**HOLDS, "c-count": "none", "live": "yes"}
    response = client.post(reverse("criterion_edit", args=AT), sent, headers=HX)
    assert "<form" not in response.text
    assert "Not a rule yet" in response.text
    assert beside(response, "c-count") == "Write a whole number from 1 to 1000, not 'none'."
    assert beside(response, "c-seconds") == ""
    assert 'id="c-count-wrong" hx-swap-oob="true"' in response.text


def test_htmx_gets_the_editor_alone_after_a_button(client):
    response = client.post(reverse("criterion_edit", args=AT), {**HOLDS, "edit": "wrap:c"}, headers=HX)
    assert response.text.strip().startswith('<section id="editor"')
    assert 'name="c-0-seconds" value="20"' in response.text


@pytest.mark.parametrize(
    ("sent", "field", "sentence"),
    [
        ({"c-seconds": "-5"}, "c-seconds", "Write seconds from 0.1 to 3600"),
        ({"c-seconds": "NaN"}, "c-seconds", "Write seconds from 0.1 to 3600"),
        ({"c-seconds": ""}, "c-seconds", "This is missing."),
        ({"c-window_days": "0"}, "c-window_days", "Write a whole number from 1 to 3660, not 0."),
        ({"c-sessions": "5", "c-count": "5", "c-window_days": "2"}, "c-sessions", "can never lie within 2 days"),
        ({"c-dates": "9"}, "c-dates", "9 days can never be reached with 3 counted."),
        ({"c-who": ""}, "c-who", "Tick at least one."),
        ({"c-who": "robot"}, "c-who", "judged, counted, timed_only, own"),
        ({"c-assistance": "rope"}, "c-assistance", "No help is called 'rope'."),
        ({"c-grade_at_least": "2"}, "c-grade_at_least", "This step is not graded"),
        ({"c-word": "whatever"}, "c-word", "Choose what kind of condition this is."),
        ({"c-word": "reps", "c-reps": "5"}, "c-word", "This step is held: no try at it is a set of reps."),
        ({"c-word": "angle", "c-degrees": "90"}, "c-word", "This step measures no angle"),
        ({"c-word": "step", "c-step": ""}, "c-step", "Choose a step."),
        ({"c-word": "step", "c-step": "pullover-1"}, "c-step", "A step cannot wait for itself"),
        ({"c-word": "step", "c-step": "cartwheel"}, "c-step", "This gym has no step 'cartwheel'"),
        ({"c-word": "step", "c-step": "pullover-3"}, "c-step", "1 Tucked hold in a long-arm hang → 3 "),
        ({"c-word": "all"}, "c-word", "Nothing stands in this group"),
    ],
)
def test_a_mistake_stands_beside_its_field_and_nothing_typed_is_lost(client, sent, field, sentence):
    response = trial(client, {**HOLDS, **sent})
    assert response.status_code == 422
    assert sentence in beside(response, field)
    assert sentence in told(response)
    back = sent_by(response)
    assert all(text in back.getlist(name) for name, text in {**HOLDS, **sent}.items())
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 1


def test_a_hold_for_a_step_of_reps_is_told_at_its_kind(client):
    assert "This step is counted in reps" in beside(trial(client, HOLDS, IN_REPS), "c-word")


def test_kinds_that_the_step_has_no_use_for_are_shown_and_shut(client):
    page = client.get(reverse("criterion_edit", args=AT)).text
    assert '<option value="reps" disabled>sets of reps (this step is held)</option>' in page
    assert '<option value="angle" disabled>a measured angle (this step measures none)</option>' in page


def test_the_rare_settings_unfold_when_one_is_set_or_wrong(client):
    assert '<details class="rule-more">' in edit(client, sent=HOLDS).text
    assert '<details class="rule-more" open>' in edit(client, sent={**HOLDS, "c-window_days": "14"}).text
    assert '<details class="rule-more" open>' in edit(client, sent={**HOLDS, "c-window_days": "soon"}).text


def test_a_step_with_clearance_says_that_only_judged_tries_count(client):
    said = "only tries that a coach judged count, whatever is ticked here"
    assert said in client.get(reverse("criterion_edit", args=CLEARED)).text
    assert said not in client.get(reverse("criterion_edit", args=AT)).text
    assert "without them nobody ever gets there" in beside(trial(client, {**HOLDS, "c-who": "own"}, CLEARED), "c-who")


def test_a_nested_rule_is_built_from_nothing(client, gym):
    page = edit(client, sent=HOLDS, edit="remove:c")
    assert told(page).startswith("No condition stands here yet.")
    page = edit(client, edit="add:c")
    assert "autofocus" in part(r'<select name="c-word"([^>]*)>', page.text)
    for button in ("add:c", "wrap:c-1", "add:c-1"):
        page = _press(client, page, button)
    page = _press(client, page, "", **{"c-1-word": "any", "c-1-1-word": "step"})
    assert "Choose a step." in told(page)
    page = _press(client, page, "", **{"c-1-1-step": "l-hold-1"})
    assert told(page).startswith(
        "The step is met with three clean judged holds of 5 s or longer, and (either three clean judged holds of 5 s"
        f" or longer, or {page_of(gym, 'l-hold-1').label} {page_of(gym, 'l-hold-1').name} is passed)."
    )


def _press(client, page, button, **changed):
    sent = sent_by(page)
    for name, text in changed.items():
        sent[name] = text
    sent["edit"] = button
    return send(client, reverse("criterion_edit", args=AT), dict(sent.lists()))


def test_moving_keeps_the_focus_on_the_button(client):
    page = edit(client, sent={"c-word": "all", **{f"c-{n}-word": "step" for n in range(3)}}, edit="down:c-0")
    assert re.search(r'value="down:c-1"[^>]*autofocus', page.text)


def test_ready_made_rules_fill_the_editor(client):
    page = client.get(reverse("criterion_edit", args=AT))
    assert [ready.name for ready in page.context["ready_made"]] == ["As it is now", "Full standard"]
    full = page.context["ready_made"][1]
    assert "three clean judged holds of 20 s or longer, on two days." in told(edit(client, tree=full.tree))
    graded = client.get(reverse("criterion_edit", args=["bar-pullover", "pullover-3"])).context["ready_made"]
    assert [ready.name.split(":")[0] for ready in graded] == ["As it is now", "Graded", "Graded"]


def test_limits_are_told_where_the_buttons_are_gone(client):
    many = {"c-word": "all", **{f"c-{n}-word": "step" for n in range(MOST_LEAVES)}}
    page = edit(client, sent=many)
    assert f"A criterion has at most {MOST_LEAVES} conditions: there is room for no more." in page.text
    assert 'value="add:' not in page.text
    deep = {"c" + "-0" * level + "-word": "all" for level in range(MOST_LEVELS - 1)}
    deep["c" + "-0" * (MOST_LEVELS - 1) + "-word"] = "holds"
    page = edit(client, sent=deep)
    assert f"Conditions stand at most {MOST_LEVELS} deep in one another: no group fits here." in page.text
    assert 'value="wrap:c' not in page.text


def test_the_fullest_criterion_still_fits_into_one_form(client):
    leaf = {"holds": {"count": 3, "seconds": 5, "assistance": ["none", "band", "spot", "box", "feet"]}}
    leaf["holds"]["who"] = ["judged", "counted", "timed_only", "own"]
    page = edit(client, tree=json.dumps({"all": [leaf] * MOST_LEAVES}))
    sent = sent_by(page)
    for name in [name for name in sent if name.endswith("-count")]:
        sent[name.replace("-count", "-step")] = "texts of other kinds travel along"
    assert sum(len(texts) for _, texts in sent.lists()) > 800
    assert send(client, reverse("criterion_trial", args=AT), dict(sent.lists())).status_code == 200


NESTED = "c" + "-0" * 20_000
STRANGE = [
    {},
    {"c-word": ""},
    {"c-word": ["holds", "all"]},
    {"c-0-word": "holds"},
    {f"{NESTED}-word": "all"},
    {"c" + "-0" * level + "-word": "all" for level in range(12)},
    {"c-word": "all", **{f"c-{n}-word": "any" for n in range(900)}},
    {"c-word": "holds", "c-0-word": "holds", "c-count": "9" * 5000, "c-seconds": "1e999"},
    {"c-word": "holds", "c-count": "\x00", "c-seconds": "<b>", "c-who": "\ud7ff", "c-evil": "x"},
    {"c-word": "last", "c-good": "٣", "c-of": "-1", "c-target": "angle"},
    {"c-word": "reliability", "c-percent": "Infinity", "c-confidence": "91", "c-target": "reps"},
    {"c-word": "angle", "c-bound": "__class__", "c-degrees": "360"},
    {"c-word": "at_least", "c-count": "1e3", "c-0-word": "step", "c-0-step": " "},
    {"edit": "up:c-9-9-9"},
    {"edit": "explode:c"},
    {"edit": "remove:" + NESTED},
    {"tree": "[" * 100_000},
    {"tree": '{"all":' * 15_000},
    {"tree": '{"holds": {"count": NaN, "seconds": Infinity}}'},
    {"tree": '{"step": "\\ud800"}'},
    {"tree": "9" * 5000},
    {"tree": '{"holds": {"count": ' + "9" * 5000 + "}}"},
    {"tree": ""},
    {"tree": "null"},
]


@pytest.mark.parametrize("name", ["criterion_edit", "criterion_trial", "criterion_adopt"])
def test_strange_input_is_answered_and_stores_nothing(client, name):
    before = CriterionVersion.objects.count()
    answers = {place: send(client, reverse(name, args=AT), sent).status_code for place, sent in enumerate(STRANGE)}
    assert {place: status for place, status in answers.items() if status not in {200, 303, 422}} == {}
    assert CriterionVersion.objects.count() == before


def test_a_sent_draft_takes_no_more_than_our_pages_send():
    sent = QueryDict("c-word=holds&c-count=1&c-evil=2&other=3&c-0-word=all")
    assert draft_sent(sent) == Draft("holds", {"count": ("1",)})


# ---- The trial ----------------------------------------------------------------------------------------------------


def test_the_trial_shows_both_sentences_and_stores_nothing(client):
    before = AuditEntry.objects.count(), CriterionVersion.objects.count()
    response = trial(client, HOLDS)
    shown = words(response.text)
    assert "Now Three clean judged holds of 5 s or longer, on two days." in shown
    assert "Then Three clean judged holds of 20 s or longer, on two days." in shown
    assert (AuditEntry.objects.count(), CriterionVersion.objects.count()) == before


def test_the_trial_names_who_would_lose_readiness(client, coach, athlete):
    reach(coach, athlete, "pullover-3a")
    meet(coach, athlete, "pullover-3a")
    response = trial(client, HOLDS, CLEARED)
    assert [each.id for each in response.context["replay"].losing] == [athlete.id]
    assert "1 ready for a sign-off now would not be any more: Ada" in words(response.text)


@pytest.mark.parametrize("athletes", [1, 3])
def test_the_trial_asks_as_much_for_three_athletes_as_for_one(client, coach, gym, athletes, django_assert_num_queries):
    for name in ("Bo Li", "Kai Berg", "Lin Zhao")[:athletes]:
        log(coach, make_athlete(gym, name), "pullover-1", 20.0)
    trial(client, HOLDS)
    with django_assert_num_queries(10):
        trial(client, HOLDS)


def test_the_way_back_to_the_editor_keeps_the_draft(client):
    tree = trial(client, HOLDS).context["tree"]
    assert "three clean judged holds of 20 s or longer, on two days." in told(edit(client, tree=tree, instead_of=1))


def test_the_trial_of_what_is_in_force_has_nothing_to_adopt(client):
    response = trial(client, {**HOLDS, "c-seconds": "5"})
    assert "there is nothing to adopt" in response.text
    assert "<button>Adopt</button>" not in response.text


def test_asking_for_the_trial_without_a_draft_leads_to_the_editor(client):
    response = client.get(reverse("criterion_trial", args=AT))
    assert (response.status_code, response["Location"]) == (303, reverse("criterion_edit", args=AT))


# ---- Adopting -----------------------------------------------------------------------------------------------------


def test_an_adopted_criterion_stands_on_the_step_page_with_its_versions(client, coach, client_of, athlete_member):
    tried = trial(client, HOLDS).context
    response = adopt(client, tried["tree"], tried["instead_of"])
    assert (response.status_code, response["Location"]) == (303, reverse("step", args=AT))
    shown = words(client.get(response["Location"]).text)
    assert "The criterion holds from now on. What was passed before stays passed." in shown
    assert "Criterion: three clean judged holds of 20 s or longer, on two days." in shown
    history = shown[shown.index("Versions of the criterion") :]
    assert re.search(r"20 s or longer, on two days. Since [0-9:]+, adopted by Olga .*From the beginning\.", history)
    assert "Versions of the criterion" in client_of(coach).get(reverse("step", args=AT)).text
    assert "Versions of the criterion" not in client_of(athlete_member).get(reverse("step", args=AT)).text


def test_a_version_adopted_meanwhile_is_told_and_the_draft_kept(client, owner, gym):
    tried = trial(client, HOLDS).context
    adopt_criterion(by=owner, step=page_of(gym, "pullover-1"), criterion=parse({"best": {"seconds": 9}}))
    response = adopt(client, tried["tree"], tried["instead_of"])
    assert response.status_code == 422
    shown = words(response.text)
    assert "Nothing was adopted. Version 2 was adopted meanwhile, so this was compared with an older one." in shown
    assert "Now One clean judged hold of 9 s or longer." in shown
    assert latest_number(page_of(gym, "pullover-1")) == 2
    again = adopt(client, response.context["tree"], response.context["instead_of"])
    assert again.status_code == 303
    assert latest_number(page_of(gym, "pullover-1")) == 3


def test_a_draft_that_fits_no_longer_goes_back_to_the_editor(client, owner, gym):
    """Another step began to wait for this one while the draft that waits for that one lay open."""
    tree = canonical(parse({"all": [FIRST_STANDARD, {"step": "l-hold-1"}]}))
    assert trial(client, {"c-word": "step", "c-step": "l-hold-1"}).status_code == 200
    adopt_criterion(by=owner, step=page_of(gym, "l-hold-1"), criterion=parse({"step": "pullover-1"}))
    response = adopt(client, tree)
    assert response.status_code == 422
    assert "These steps would wait for one another" in beside(response, "c-1-step")
    assert latest_number(page_of(gym, "pullover-1")) == 1


def test_adopting_twice_is_adopting_once(client, gym):
    tree = canonical(parse(FULL_STANDARD))
    assert [adopt(client, tree).status_code for _ in range(2)] == [303, 303]
    assert latest_number(page_of(gym, "pullover-1")) == 2


# ---- Who ----------------------------------------------------------------------------------------------------------


def test_only_who_may_edit_skills_gets_there(client_of, coach, gym):
    step, page = reverse("step", args=AT), reverse("criterion_edit", args=AT)
    assert f'"{page}"' not in client_of(coach).get(step).text
    assert client_of(coach).get(page).status_code == 403
    assert adopt(client_of(coach), canonical(parse(FULL_STANDARD))).status_code == 403
    editor = client_of(make_member(gym, Role.COACH, "Edda Roy", rights=("may_edit_skills",)))
    assert f'"{page}"' in editor.get(step).text
    assert adopt(editor, canonical(parse(FULL_STANDARD))).status_code == 303


@pytest.mark.parametrize("at", [["l-hold", "pullover-1"], ["bar-pullover", "cartwheel"]])
def test_a_step_that_is_not_there_is_not_found(client, at):
    assert client.get(reverse("criterion_edit", args=at)).status_code == 404
    assert trial(client, HOLDS, at).status_code == 404
    assert adopt(client, "{}", at=at).status_code == 404


def test_the_editor_of_every_shipped_criterion_is_valid_and_fits(client, gym):
    for code, step in book_of(gym).steps.items():
        page = client.get(reverse("criterion_edit", args=[step.skill_slug, code]))
        assert "The step is met with" in told(page), code
