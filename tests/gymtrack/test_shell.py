"""The frame of every page: who sees which links, what the browser may load, how a field tells its errors."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django import forms
from django.conf import settings as project
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.urls import include, path
from django.views import defaults

from athletes.access.rules import EVERYBODY, MemberRequest, allow, open_to_all
from athletes.models import Account, Athlete, Membership
from gymtrack.lib.http import redirect_to, render_page
from gymtrack.urls import account_patterns
from skills.wording import STATES
from tests.factories.athletes import Role, make_login
from tests.helpers.html import Answer, elements, text_of, what_breaks_the_policy

SignIn = Callable[[Membership | Account], Client]


# ---- A site with the frame and nothing in it --------------------------------------------------------------
@allow(*EVERYBODY)
def page(request: MemberRequest, /, **_place: str) -> HttpResponse:
    return render_page(request, "base.html")


@allow(*EVERYBODY)
def part(request: MemberRequest) -> HttpResponse:
    return render_page(request, "parted.html", {"word": "seen"}, fragment="inside", status=422)


@allow(Role.OWNER)
def owners_page(request: MemberRequest) -> HttpResponse:
    return page(request)  # type: ignore[return-value]


@open_to_all
def moved(_request: HttpRequest) -> HttpResponse:
    return redirect_to("step", code="tuck")


PLACES = {
    "home": "",
    "month": "month/",
    "today": "today/",
    "sign_offs": "sign-offs/",
    "roster": "athletes/",
    "skills": "skills/",
    "gym": "gym/",
    "my_progress": "progress/",
    "choose_membership": "account/role/",
    "join": "join/",
}
urlpatterns = [
    *(path(address, page, name=name) for name, address in PLACES.items()),
    path("skills/<str:code>/", page, name="step"),
    path("sessions/<str:session>/athletes/<str:athlete>/", page),
    path("part/", part),
    path("owners/", owners_page),
    path("moved/", moved),
    path("account/", include(account_patterns)),
]
pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gymtrack.test_shell")]


# ---- What the browser may load ------------------------------------------------------------------------------
def test_content_security_policy_is_exactly_this(client: Client):
    header = client.get("/account/sign-in/").headers["Content-Security-Policy"]
    assert sorted(header.split("; ")) == [
        "base-uri 'none'",
        "connect-src 'self'",
        "default-src 'none'",
        "font-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "img-src 'self' data:",
        "manifest-src 'self'",
        "script-src 'self'",
        "style-src 'self'",
        "worker-src 'self'",
    ]


OPEN_PAGES = {
    "/account/sign-in/": "Sign in",
    "/account/sign-up/": "By invitation",
    "/account/inactive/": "This account is switched off",
    "/account/password/forgotten/": "Forgotten password",
    "/account/password/forgotten/sent/": "Look in your mail",
    "/account/password/new/abc-123/": "Choose a new password",
    "/account/password/new/done/": "Your new password works from now on",
}
SIGNED_IN_PAGES = {
    "/": "Page",
    "/account/sign-out/": "Sign out",
    "/account/password/": "Change password",
    "/account/confirm/": "Is it still you?",
    "/owners/": "Not for you",
}


@pytest.mark.parametrize("address", OPEN_PAGES)
def test_page_for_everybody_has_its_title_and_nothing_inline(client: Client, address: str):
    _has_title_and_nothing_inline(client.get(address), f"{OPEN_PAGES[address]} · Gym skills")


@pytest.mark.parametrize("address", SIGNED_IN_PAGES)
def test_page_for_members_has_its_title_and_nothing_inline(client_of: SignIn, coach: Membership, address: str):
    _has_title_and_nothing_inline(client_of(coach).get(address), f"{SIGNED_IN_PAGES[address]} · Harbour Hall")


def _has_title_and_nothing_inline(response: Answer, title: str) -> None:
    page = text_of(response)
    assert [found.text for found in elements(page, "title")][:1] == [title]
    assert list(what_breaks_the_policy(page)) == []
    assert [found.attrs["content"] for found in elements(page, "meta", name="robots")] == ["noindex, nofollow"]


def test_address_without_a_page_says_so_and_names_no_gym_to_strangers(
    client: Client, client_of: SignIn, coach: Membership
):
    for response, head in (
        (client.get("/no-such-page/"), "Gym skills"),
        (client_of(coach).get("/no-such-page/"), "Harbour Hall"),
    ):
        assert response.status_code == 404
        _has_title_and_nothing_inline(response, f"There is no such page · {head}")


def test_page_breaks_the_policy_when_it_has_inline_parts():
    page = '<p style="x" onclick="y"></p><script>z</script><img src="//"><a href="https://elsewhere.example">'
    assert list(what_breaks_the_policy(page)) == [
        "style= on <p>",
        "onclick= on <p>",
        "<script> with text",
        "href=https://elsewhere.example",
    ]


# ---- Who sees which links -------------------------------------------------------------------------------------
NAV = {
    "owner": ["Month", "Today", "Sign-offs", "Athletes", "Skills", "Gym"],
    "coach": ["Today", "Sign-offs", "Athletes", "Skills"],
    "athlete_member": ["My progress", "Skills"],
    "guardian": ["Progress", "Skills"],
}


@pytest.mark.parametrize("role", NAV)
def test_navigation_has_the_places_of_the_role(request: pytest.FixtureRequest, client_of: SignIn, role: str):
    found = text_of(client_of(request.getfixturevalue(role)).get("/"))
    links = [link.text for link in elements(found, "a") if any(box.tag == "nav" for box in link.parents)]
    assert links == NAV[role]


@pytest.mark.parametrize(
    ("address", "marks"),
    [
        ("/skills/", [("Skills", "page")]),
        ("/skills/tuck/", [("Skills", "true")]),
        ("/sessions/1/athletes/2/", [("Today", "true")]),
        ("/", []),
    ],
)
def test_current_place_is_marked(client_of: SignIn, coach: Membership, address: str, marks: list[tuple[str, str]]):
    links = elements(text_of(client_of(coach).get(address)), "a")
    assert [(a.text, a.attrs["aria-current"]) for a in links if "aria-current" in a.attrs] == marks


def test_link_to_a_page_that_does_not_exist_is_left_out():
    assert elements(render_to_string("includes/nav_link.html", {"name": "nowhere", "word": "Nowhere"})) == []


def test_header_tells_who_and_leads_out(client_of: SignIn, coach: Membership):
    found = text_of(client_of(coach).get("/"))
    assert [summary.text for summary in elements(found, "summary")] == ["C. A., coach"]
    assert [form.attrs["action"] for form in elements(found, "form", method="post")] == ["/account/sign-out/"]


def test_roles_of_one_account_can_be_switched(client_of: SignIn, coach: Membership, athlete: Athlete):
    own = make_login(athlete, email="to-be-replaced@harbour.example")
    own.account = coach.account
    own.save(update_fields=["account"])
    buttons = elements(text_of(client_of(own).get("/")), "button", name="membership")
    assert [(button.text, button.attrs["value"]) for button in buttons] == [
        ("Coach, Harbour Hall", str(coach.id)),
        ("Athlete, Harbour Hall", str(own.id)),
    ]
    assert ["aria-current" in button.attrs for button in buttons] == [False, True]


def test_frame_costs_three_queries(client_of: SignIn, coach: Membership, django_assert_num_queries):
    client = client_of(coach)
    with django_assert_num_queries(3):  # session, account, memberships
        client.get("/")


def test_somebody_in_no_gym_is_told_what_to_do(client_of: SignIn, stranger: Account):
    response = client_of(stranger).get("/")
    assert response.status_code == 403
    assert "You belong to no gym here" in text_of(response)
    assert stranger.email in text_of(response)


def test_member_without_the_right_is_told_whom_to_ask(client_of: SignIn, coach: Membership):
    response = client_of(coach).get("/owners/")
    assert response.status_code == 403
    assert "As coach of Harbour Hall you do not have the right" in text_of(response)


# ---- Pages for what goes wrong --------------------------------------------------------------------------------
def test_fault_of_the_server_has_a_page_that_needs_nothing(rf: RequestFactory):
    response = defaults.server_error(rf.get("/"))
    assert (response.status_code, "not your fault" in text_of(response)) == (500, True)


def test_request_that_cannot_be_read_has_a_page(rf: RequestFactory):
    response = defaults.bad_request(rf.get("/"), ValueError("unreadable"))
    assert (response.status_code, "could not be read" in text_of(response)) == (400, True)


def test_form_that_is_too_old_says_so():
    response = Client(enforce_csrf_checks=True).post("/account/sign-in/", {"login": "a@b.example"})
    assert (response.status_code, "This page was too old" in text_of(response)) == (403, True)


# ---- A page, or the part that htmx asked for ---------------------------------------------------------------------
PARTED = "{% partialdef inside inline %}<p id=inside>{{ word }}</p>{% endpartialdef %}<footer>"


@pytest.fixture
def parted(settings) -> None:
    """A template with a part, from memory."""
    engine: dict[str, Any] = project.TEMPLATES[0]
    loaders = [
        ("template_partials.loader.Loader", [("django.template.loaders.locmem.Loader", {"parted.html": PARTED})])
    ]
    settings.TEMPLATES = [{**engine, "OPTIONS": {**engine["OPTIONS"], "loaders": loaders}}]


def test_browser_gets_the_whole_page_with_its_status(parted, client_of: SignIn, coach: Membership):
    response = client_of(coach).get("/part/")
    assert (response.status_code, text_of(response)) == (422, "<p id=inside>seen</p><footer>")


def test_htmx_gets_the_part_alone(parted, client_of: SignIn, coach: Membership):
    response = client_of(coach).get("/part/", headers={"HX-Request": "true"})
    assert (response.status_code, text_of(response)) == (422, "<p id=inside>seen</p>")


def test_htmx_that_goes_back_gets_the_whole_page(parted, client_of: SignIn, coach: Membership):
    headers = {"HX-Request": "true", "HX-History-Restore-Request": "true"}
    assert text_of(client_of(coach).get("/part/", headers=headers)).endswith("<footer>")


def test_personal_pages_are_kept_in_no_cache_and_vary_by_htmx(client_of: SignIn, coach: Membership):
    response = client_of(coach).get("/")
    assert response.headers["Cache-Control"] == "no-store"
    assert "HX-Request" in response.headers["Vary"]


def test_redirect_after_a_post_is_a_see_other(client: Client):
    response = client.post("/moved/")
    assert (response.status_code, response.headers["Location"]) == (303, "/skills/tuck/")


# ---- Fields and their errors ---------------------------------------------------------------------------------------
class Entry(forms.Form):
    word = forms.CharField(label="Word", help_text="As <spoken>.")
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea)
    bar = forms.ChoiceField(label="Bar", choices=[("high", "high"), ("low", "low")])
    seen = forms.BooleanField(label="Seen")
    how = forms.ChoiceField(label="How", choices=[("alone", "alone")], widget=forms.RadioSelect, help_text="Who?")
    file = forms.FileField(label="File")
    key = forms.CharField(widget=forms.HiddenInput)

    def clean(self) -> None:
        raise forms.ValidationError("The day lies ahead.")


def field_of(name: str, data: dict[str, str] | None = None) -> str:
    return render_to_string("includes/field.html", {"field": Entry(data)[name]})


@pytest.mark.parametrize(
    ("name", "tag"), [("word", "input"), ("note", "textarea"), ("bar", "select"), ("file", "input")]
)
def test_field_has_a_label_that_leads_to_its_control(name: str, tag: str):
    found = field_of(name)
    assert [label.attrs["for"] for label in elements(found, "label")] == [f"id_{name}"]
    assert [control.attrs["id"] for control in elements(found, tag)] == [f"id_{name}"]


def test_help_is_tied_to_the_control_and_escaped():
    found = field_of("word")
    assert elements(found, "input")[0].attrs["aria-describedby"] == "id_word_helptext"
    assert [box.text for box in elements(found, id="id_word_helptext")] == ["As <spoken>."]


def test_error_is_tied_to_the_control_and_what_was_typed_stays():
    found = field_of("word", {"word": " "})
    control = elements(found, "input")[0].attrs
    assert (control["aria-invalid"], control["value"]) == ("true", " ")
    assert control["aria-describedby"] == "id_word_helptext id_word_error"
    assert [box.text for box in elements(found, id="id_word_error")] == ["This field is required."]


def test_optional_field_says_so_and_a_required_one_does_not():
    assert "(optional)" in field_of("note")
    assert "(optional)" not in field_of("word")


def test_checkbox_stands_inside_its_label():
    box = elements(field_of("seen", {"word": ""}), "input")[0]
    assert [parent.tag for parent in box.parents] == ["div", "label"]
    assert box.attrs["aria-describedby"] == "id_seen_error"


def test_radios_are_a_group_with_a_legend_its_help_and_its_error():
    found = field_of("how", {"word": ""})
    group = elements(found, "fieldset")[0]
    assert (group.attrs["id"], group.attrs["aria-describedby"]) == ("id_how_box", "id_how_helptext id_how_error")
    assert [legend.text for legend in elements(found, "legend")] == ["How"]
    assert [box.text for box in elements(found, id="id_how_error")] == ["This field is required."]


def test_hidden_field_has_no_label():
    assert [found.tag for found in elements(field_of("key"))] == ["input"]


def test_summary_of_errors_names_each_place_and_leads_there():
    page = render_to_string("includes/form_errors.html", {"form": Entry({"word": "", "note": "x", "bar": "high"})})
    assert [re.sub(r"\s+", " ", item.text) for item in elements(page, "li")] == [
        "The day lies ahead.",
        "This field is required.",
        "Word: This field is required.",
        "Seen: This field is required.",
        "How: This field is required.",
        "File: This field is required.",
    ]
    assert [link.attrs["href"] for link in elements(page, "a")] == ["#id_word", "#id_seen", "#id_how_box", "#id_file"]


def test_summary_of_a_form_without_errors_is_nothing():
    assert elements(render_to_string("includes/form_errors.html", {"form": Entry()})) == []


# ---- Marks -----------------------------------------------------------------------------------------------------------
def test_every_state_has_a_word_and_a_shape_of_its_own():
    marks = {state: render_to_string("includes/state.html", {"state": state}) for state in STATES}
    assert {state: elements(mark, "span")[0].text.strip() for state, mark in marks.items()} == STATES
    assert len({re.search(r"<svg.*</svg>", mark)[0] for mark in marks.values()}) == len(STATES)  # type: ignore[index]


def test_state_can_be_said_shorter():
    mark = render_to_string("includes/state.html", {"state": "ready", "word": "<ready>"})
    assert elements(mark, "span")[0].text.strip() == "<ready>"


def test_caution_is_a_note_and_its_text_is_escaped():
    found = render_to_string("includes/caution.html", {"text": "Lay <two> mats."})
    assert [(note.attrs["role"], note.text.split()) for note in elements(found, "div")] == [
        ("note", ["Caution.", "Lay", "<two>", "mats."])
    ]


def test_messages_can_be_heard_and_swapped_in():
    page = render_to_string("includes/messages.html", {"messages": ["Stored."], "oob": True})
    box = elements(page, id="messages")[0]
    assert (box.attrs["role"], box.attrs["hx-swap-oob"], box.text.strip()) == ("status", "true", "Stored.")
