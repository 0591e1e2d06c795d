"""Coaches see before they sign, and on the board, what is missing besides the evidence."""

from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import Gym
from tests.factories.athletes import make_certificate, make_consent
from tests.factories.skills import library, pass_step, reach, start_class, step_of


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


@pytest.fixture
def _asking(gym):
    Gym.objects.filter(pk=gym.pk).update(asks_consent=True)


def _addresses(coach, athlete):
    """The sign-off form and the board's panel of one inverted step."""
    step = step_of(athlete.gym, "pullover-3a").id
    session = start_class(coach, athlete)
    return f"/sign-offs/{athlete.id}/{step}/entrance/", f"/sessions/{session.id}/athletes/{athlete.id}/?step={step}"


@pytest.mark.usefixtures("_asking")
def test_the_form_and_the_board_say_that_there_is_no_consent(client_of, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    make_consent(athlete, by=coach, kind="inversion", given=False)
    for address in _addresses(coach, athlete):
        page = client_of(coach).get(address).content.decode()
        assert "No consent to hands-on spotting." in page
        assert "No consent to going upside down (withdrawn)." in page
    for kind in ("spotting", "inversion"):
        make_consent(athlete, by=coach, kind=kind)
    for address in _addresses(coach, athlete):
        assert "No consent" not in client_of(coach).get(address).content.decode()


def test_a_gym_that_does_not_ask_says_nothing(client_of, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    for address in _addresses(coach, athlete):
        assert "No consent" not in client_of(coach).get(address).content.decode()


def test_the_form_says_beforehand_that_a_certificate_has_lapsed(client_of, owner, coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    make_certificate(coach, by=owner, valid_until=timezone.now().date() - timedelta(days=2))
    address, _ = _addresses(coach, athlete)
    response = client_of(coach).get(address)
    assert response.context["form"] is None
    assert "A certificate of yours has ended: coaching certificate, last day" in response.content.decode()
    assert client_of(coach).post(address, {"decision": "passed", "clearance": "alone"}).status_code == 403


def test_the_gyms_settings_say_whether_it_asks(client_of, owner, gym):
    client, stored = client_of(owner), {"name": gym.name, "time_zone": gym.time_zone, "units": gym.units}
    for ticked in ({"asks_consent": "on"}, {}):
        assert client.post("/gym/", stored | ticked).status_code == 303
        gym.refresh_from_db()
        assert gym.asks_consent is bool(ticked)


@pytest.mark.usefixtures("_asking")
def test_the_panel_is_stopped_and_one_tap_writes_the_consent_down(client_of, coach, minor):
    pass_step(coach, minor, "pullover-3")
    client, (_, panel) = client_of(coach), _addresses(coach, minor)
    page = client.get(panel)
    assert "form" not in page.context
    html = page.content.decode()
    assert "Stopped: nothing can be logged" in html
    assert "A guardian agrees to going upside down: write it down" in html
    make_consent(minor, by=coach, kind="spotting")
    sent = {"kind": "inversion", "given": "yes", "next": panel}
    assert client.post(f"/athletes/{minor.id}/consents/", sent).headers["Location"] == panel
    assert "form" in client.get(panel).context


@pytest.mark.usefixtures("_asking")
def test_who_may_only_read_is_offered_no_tap(client_of, reader, coach, minor):
    pass_step(coach, minor, "pullover-3")
    html = client_of(reader).get(_addresses(coach, minor)[1]).content.decode()
    assert "Stopped: nothing can be logged" in html
    assert "write it down</button>" not in html


def test_the_board_says_it_and_has_another_step_in_hand(client_of, coach, athlete):
    reach(coach, athlete, "pullover-3a")
    Gym.objects.filter(pk=coach.gym_id).update(asks_consent=True)
    session = start_class(coach, athlete, focus="pullover-3a")
    (tile,) = client_of(coach).get(f"/sessions/{session.id}/").context["tiles"]
    assert tile.no_consent == "no consent: hands-on spotting, going upside down"
    for kind in ("spotting", "inversion"):
        make_consent(athlete, by=coach, kind=kind)
    (agreed,) = client_of(coach).get(f"/sessions/{session.id}/").context["tiles"]
    assert agreed.no_consent == ""
    assert agreed.step != tile.step


@pytest.mark.parametrize("extent", ["full_name", "initials", "number"])
def test_the_pages_of_a_class_show_no_more_of_a_name_than_was_agreed(client_of, coach, athlete, extent):
    make_consent(athlete, by=coach, kind="board", extent=extent)
    session = start_class(coach, athlete)
    pass_step(coach, athlete, "pullover-3a")
    for address in (
        f"/sessions/{session.id}/",
        f"/sessions/{session.id}/present/",
        f"/sessions/{session.id}/end/",
        f"/sessions/{session.id}/athletes/{athlete.id}/",
        "/alone/",
    ):
        html = client_of(coach).get(address).content.decode()
        assert ("Ada Lindqvist" in html, "A. L." in html) == (extent == "full_name", extent == "initials"), address
        assert extent != "number" or "Athlete " in html


def test_the_printed_list_leaves_out_what_nobody_agreed_to(client_of, coach, athlete):
    pass_step(coach, athlete, "pullover-3a")
    Gym.objects.filter(pk=coach.gym_id).update(asks_consent=True)
    listed = client_of(coach).get("/alone/")
    assert listed.context["people"] == []
    for kind in ("spotting", "inversion"):
        make_consent(athlete, by=coach, kind=kind)
    assert [any(person["may"]) for person in client_of(coach).get("/alone/").context["people"]] == [True]
