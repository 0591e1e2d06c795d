"""Writing skills and steps on pages: forms that lose nothing, files in and out, the schema."""

import json
import re
from html import unescape
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from jsonschema import Draft202012Validator

from athletes.models import AuditEntry, Gym
from skills.core.levers import Pose
from skills.forms.steps import data_of
from skills.library.documents import read_mapping
from skills.library.texts import STATIONS, StepText
from skills.models import CriterionVersion, Fault, Skill, Step, StepVersion
from skills.queries.texts import skill_texts
from tests.factories.athletes import Role, make_member
from tests.factories.skills import library, log, page_of

ADD = "/skills/bar-pullover/add/"
CHANGE = "/skills/bar-pullover/pullover-1/change/"
IMPORT = "/skills/import/"


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


@pytest.fixture
def client(client_of, owner):
    return client_of(owner)


def text_of(gym: Gym, code: str) -> StepText:
    return next(step for skill in skill_texts(gym.id).values() for step in skill.steps if step.code == code)


def sent(gym: Gym, code: str = "pullover-1", **changes: Any) -> dict[str, Any]:
    return data_of(text_of(gym, code), StepVersion.objects.filter(gym=gym, step__code=code).count()) | changes


def state(gym: Gym) -> tuple[object, ...]:
    counts = (model.objects.filter(gym=gym).count() for model in (StepVersion, CriterionVersion, AuditEntry, Skill))
    return (Gym.objects.get(pk=gym.pk).rules_stamp, *counts)


def told(answer) -> str:
    """The words of a page."""
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", answer.text).split()))


# ---- Steps ----------------------------------------------------------------------------------------------


def test_the_form_of_a_step_sent_as_it_is_changes_nothing(client, gym):
    before = state(gym)
    for code in ("pullover-1", "pullover-3", "pullover-3a", "pullover-6"):
        answer = client.post(f"/skills/bar-pullover/{code}/change/", sent(gym, code))
        assert answer.status_code == 303, told(answer)
    assert state(gym) == before


def test_a_step_is_changed_and_its_codes_stay(client, gym):
    changes = {"name": "Tuck", "faults-0-name": "Weak fingers", "angle": "between thigh and trunk"}
    assert client.post(CHANGE, sent(gym, **changes)).status_code == 303
    step = text_of(gym, "pullover-1")
    assert (step.name, step.angle) == ("Tuck", "between thigh and trunk")
    assert (step.faults[0].code, step.faults[0].name) == ("hangs-in-fingers", "Weak fingers")


def test_files_and_tables_know_the_same_places():
    assert tuple(Step.Station.values) == STATIONS


def test_a_step_gets_its_place_and_its_pose(client, gym):
    changes = {"station": "rings", "pose_thigh": "0", "pose_knee": "160"}
    assert client.post(CHANGE, sent(gym, **changes)).status_code == 303
    step = text_of(gym, "pullover-1")
    assert (step.station, step.pose) == ("rings", Pose(0, 160))
    assert client.post(CHANGE, sent(gym, pose_thigh="", pose_knee=" ")).status_code == 303
    assert text_of(gym, "pullover-1").pose is None


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"pose_thigh": "200"}, "Thighs, degrees from straight down : Must be a whole number from 0 to 180."),
        ({"pose_knee": ""}, "Knees, degrees from straight : Is empty."),
        ({"pose_knee": "bent"}, "Knees, degrees from straight : Must be a whole number from 0 to 160."),
        ({"station": "beam"}, "Where it is done : “beam” is not one of high_bar, low_bar, rings, floor, box."),
    ],
)
def test_a_pose_or_place_that_cannot_be_is_told_beside_its_field(client, gym, changes, sentence):
    before = state(gym)
    answer = client.post(CHANGE, sent(gym, **changes))
    assert answer.status_code == 422
    assert sentence in told(answer)
    assert state(gym) == before


def test_the_pose_of_an_inverted_step_is_told_beside_its_field(client, gym):
    data = sent(gym, "pullover-3a", pose_thigh="90", pose_knee="120")
    answer = client.post("/skills/bar-pullover/pullover-3a/change/", data)
    assert answer.status_code == 422
    assert "Is left out where the step is inverted: upside down gravity closes a tuck." in told(answer)


def test_a_new_step_with_two_faults_is_connected(client, gym):
    data = sent(gym, "pullover-1", label="9", name="Slow tuck", requires=["pullover-2", "handstand-1"])
    for key in [key for key in data if key.startswith("faults") or key.endswith("-code")]:
        del data[key]
    data |= {"faults-count": "2", "faults-0-name": "Too fast", "faults-0-cue": "Slower", "faults-0-dangerous": "on"}
    data |= {"faults-1-name": "Too fast!", "faults-1-cue": "Slower, please"}
    answer = client.post(ADD, data)
    assert answer.status_code == 303, told(answer)
    step = text_of(gym, "bar-pullover-9")
    assert step.requires == ("handstand-1", "pullover-2")
    assert [(fault.code, fault.dangerous) for fault in step.faults] == [("too-fast", True), ("too-fast-2", False)]
    assert step.checkpoints[0].code == "the-bar-runs-across-the-middle-of-the-palm"


def test_a_new_word_never_takes_the_code_of_another_one_that_was_there(client, gym, coach, athlete):
    log(coach, athlete, "pullover-1", 5, faults=("swings-in",))
    data = sent(gym)
    last = int(data["faults-count"]) - 1
    assert data[f"faults-{last}-code"] == "swings-in"
    client.post(CHANGE, {**data, "faults-count": str(last)})
    again = sent(gym)
    row = f"faults-{last}"
    client.post(CHANGE, {**again, "faults-count": str(last + 1), f"{row}-name": "Swings in", f"{row}-cue": "Still"})
    assert text_of(gym, "pullover-1").faults[-1].code == "swings-in-2"
    assert page_of(gym, "pullover-1").fault_names["swings-in"] == "Swings into the tuck"


@pytest.mark.parametrize(
    ("button", "names"),
    [
        ("cautions:add", ["one", "two", ""]),
        ("cautions:remove:0", ["two"]),
        ("cautions:up:1", ["two", "one"]),
        ("cautions:down:0", ["two", "one"]),
        ("cautions:down:1", ["one", "two"]),
        ("cautions:remove:99", ["one", "two"]),
        ("luck:add", ["one", "two"]),
        ("::::", ["one", "two"]),
    ],
)
def test_buttons_of_a_list_store_nothing_and_lose_nothing(client, gym, button, names):
    before = state(gym)
    typed = {
        "cautions-count": "2",
        "cautions-0-text": "one",
        "cautions-1-text": "two",
        "name": " half ty",
        "do": button,
    }
    answer = client.post(CHANGE, sent(gym, **typed))
    assert answer.status_code == 200
    assert re.findall(r'<textarea name="cautions-\d-text"[^>]*>\s*([^<]*)<', answer.text) == names
    assert 'value=" half ty"' in answer.text
    assert state(gym) == before


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"name": " \u2003 "}, "name", "Must not be empty."),
        ({"name": "x" * 1_000_000}, "name", "Has 1000000 characters; 120 is the most."),
        ({"name": "Tuck\x00\x07"}, "name", "Holds a control character (U+0000); take it out."),
        ({"recheck_days": "soon"}, "recheck_days", "Must be a whole number from 1 to 3660."),
        ({"dose_sets": "0"}, "dose_sets", "Must be a whole number from 1 to 100."),
        ({"dose_hold_seconds": ""}, "dose_hold_seconds", "Is needed for a hold, and stays empty for reps."),
        ({"inverted": "on"}, "asks_clearance", "Is needed, because the step is inverted or goes over the bar."),
        ({"requires": ["pullover-8"]}, "requires", "These steps wait for each other in a circle: "),
        ({"requires": ["nowhere"]}, "requires", "There is no step “nowhere”."),
        ({"label": "2"}, "label", "Another step of this skill has the number “2” already."),
        ({"loads": ["flying"]}, "loads", "“flying” is not one of"),
    ],
)  # fmt: skip
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_lost(client, gym, changes, field, sentence):
    before = state(gym)
    answer = client.post(CHANGE, sent(gym, purpose="Typed for long.", **changes))
    assert answer.status_code == 422
    assert any(sentence in error for error in answer.context["form"].errors[field])
    assert "Typed for long." in answer.text
    assert state(gym) == before


def test_what_is_wrong_in_a_row_stands_in_that_row(client, gym):
    changes = {"faults-1-cue": "", "cautions-0-text": "  ", "checkpoints-count": "0"}
    answer = client.post(CHANGE, sent(gym, **changes))
    form = answer.context["form"]
    assert form.rows["faults"].rows[1].errors == {"cue": ["Must not be empty."]}
    assert form.rows["checkpoints"].errors == ["Must have at least 1."]
    assert "Fault 2 : Must not be empty." in told(answer)


def test_a_change_over_somebody_elses_is_refused(client, gym):
    old = sent(gym)
    client.post(CHANGE, sent(gym, name="Tuck"))
    answer = client.post(CHANGE, {**old, "purpose": "Mine."})
    assert answer.status_code == 422
    assert "Somebody else has changed this step meanwhile." in told(answer)
    assert "Mine." in answer.text


def test_the_same_new_step_sent_twice_is_stored_once(client, gym):
    data = {key: value for key, value in sent(gym, label="9").items() if not key.endswith("-code")}
    assert client.post(ADD, data).status_code == 303
    answer = client.post(ADD, data)
    assert answer.status_code == 422
    assert "There is a step “bar-pullover-9” already." in told(answer)
    assert Step.objects.filter(gym=gym, code="bar-pullover-9").count() == 1


def test_an_empty_new_step_names_all_that_is_missing(client):
    page = client.get(ADD)
    assert page.status_code == 200
    assert "Nothing was stored yet." not in page.text
    answer = client.post(ADD, {"measure": "hold"})
    assert answer.status_code == 422
    assert "Faults : Must have at least 1." in told(answer)
    assert "Name : Must not be empty." in told(answer)


# ---- Skills ---------------------------------------------------------------------------------------------


def test_a_skill_is_added_and_its_first_step_comes_next(client, gym):
    answer = client.post("/skills/add/", {"name": "Front lever", "purpose": "To hang level.", "place": "0"})
    assert answer["Location"] == "/skills/front-lever/add/"
    assert next(iter(skill_texts(gym.id))) == "front-lever"
    assert "This skill has no steps yet." in client.get("/skills/front-lever/").text
    twice = client.post("/skills/add/", {"name": "Front lever", "skill": "front-lever", "purpose": "P.", "place": "0"})
    assert "There is a skill “front-lever” already." in told(twice)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"name": "   "}, "Name : Must not be empty."),
        ({"skill": "add"}, "Code : “add” cannot be a code here; choose another word."),
        ({"skill": "Front Lever"}, "Code : “Front Lever” is not a code; use small letters, digits and single hyphens."),
        ({"place": "99"}, "Stands in the list : Select a valid choice."),
    ],
)
def test_a_skill_with_a_mistake_is_not_stored(client, gym, changes, sentence):
    before = state(gym)
    data = {"name": "Lever", "purpose": "To hang.", "place": "0", **changes}
    answer = client.post("/skills/add/", data)
    assert answer.status_code == 422
    assert sentence in told(answer)
    assert "To hang." in answer.text
    assert state(gym) == before


def test_steps_change_places(client, gym):
    order = [step.code for step in skill_texts(gym.id)["l-hold"].steps]
    answer = client.post(f"/skills/l-hold/{order[1]}/order/", {"to": "up"})
    assert answer["Location"] == "/skills/l-hold/change/#steps"
    assert [step.code for step in skill_texts(gym.id)["l-hold"].steps][:2] == [order[1], order[0]]


# ---- Files ----------------------------------------------------------------------------------------------


def test_an_exported_file_comes_back_and_changes_nothing(client, gym):
    before = state(gym)
    validator = Draft202012Validator(client.get(reverse("skill_schema")).json())
    for slug in skill_texts(gym.id):
        file = client.get(f"/skills/{slug}.yaml")
        assert file["Content-Type"] == "application/yaml"
        assert file["Content-Disposition"] == f'attachment; filename="{slug}.yaml"'
        assert not [*validator.iter_errors(read_mapping(file.text, where=slug))]
        preview = client.post(IMPORT, {"file": SimpleUploadedFile(f"{slug}.yaml", file.content)})
        assert preview.status_code == 200
        assert "Nothing: all of" in told(preview)
        assert client.post(IMPORT, {"text": file.text, "confirm": "yes"}).status_code == 303
        assert client.get(f"/skills/{slug}.yaml").content == file.content
    assert state(gym) == before


def test_a_file_is_looked_at_and_then_stored(client, gym):
    text = client.get("/skills/l-hold.yaml").text
    text = text.replace("name: L-hold", "name: Long L", 1).replace("seconds: 5", "seconds: 6", 1)
    before = state(gym)
    preview = client.post(IMPORT, {"text": text})
    assert "From now on: three clean judged holds of 6 s or longer" in told(preview)
    assert state(gym) == before
    data = {"text": text, "confirm": "yes", "seen": str(preview.context["seen"])}
    assert client.post(IMPORT, data).status_code == 303
    assert client.get("/skills/l-hold.yaml").text == text
    assert CriterionVersion.objects.filter(gym=gym, number=2).count() == 1


def test_a_preview_that_is_no_longer_true_is_shown_again(client, gym):
    text = client.get("/skills/l-hold.yaml").text.replace("recheck_days: 28", "recheck_days: 29", 1)
    seen = Gym.objects.get(pk=gym.pk).rules_stamp
    client.post(CHANGE, sent(gym, name="Tuck"))
    answer = client.post(IMPORT, {"text": text, "confirm": "yes", "seen": str(seen)})
    assert answer.status_code == 422
    assert "The gym's skills have changed since the preview." in told(answer)
    assert "recheck_days: 29" in answer.text


def test_another_gyms_skill_comes_in_as_a_new_one(client, client_of, other_gym):
    text = client.get("/skills/bar-pullover.yaml").text
    theirs = client_of(make_member(other_gym, Role.OWNER, "Oona Varga"))
    assert "A new skill: " in told(theirs.post(IMPORT, {"text": text}))
    assert theirs.post(IMPORT, {"text": text, "confirm": "yes"}).status_code == 303
    assert theirs.get("/skills/bar-pullover.yaml").text == text
    assert client.get("/skills/bar-pullover.yaml").text == text


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "the file must be a mapping that begins with “skill:”."),
        (b"\xff\xfe", "The file is not in UTF-8: byte 1 belongs to no character."),
        (b"x" * 10_000_000, "The file is larger than 200 kB."),
        (b"skill: &a x\nname: *a\n", "a part marked with & is used again; write it out instead."),
        (b"[" * 100_000, "things stand more than 24 deep in one another."),
        (b"skill: \x00", "a character stands here that YAML does not allow."),
        (b"skill: l-hold\nname: no\npurpose: 5\nsteps: []\n", "purpose must be a text; put a number between quotes"),
    ],
    ids=["empty", "utf-16", "10 MB", "bomb", "deep", "nul", "number"],
)
def test_a_file_that_cannot_be_used_changes_nothing(client, gym, content, sentence):
    before = state(gym)
    answer = client.post(IMPORT, {"file": SimpleUploadedFile("roll.yaml", content)})
    assert answer.status_code == 422
    assert sentence in told(answer)
    assert state(gym) == before


def test_more_than_a_form_may_hold_is_said_so(client, gym):
    before = state(gym)
    answer = client.post(CHANGE, sent(gym, name="x" * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)))
    assert answer.status_code == 400
    assert "more than 12 MB" in told(answer)
    assert state(gym) == before


def test_a_mistake_is_named_with_its_line_step_and_key(client):
    text = client.get("/skills/l-hold.yaml").text
    line = text.splitlines().index("    inverted: false") + 1
    answer = client.post(IMPORT, {"text": text.replace("inverted: false", "inverted: no", 1)})
    assert f"{line} the text, step l-hold-1, inverted must be true or false." in told(answer)


def test_a_file_that_would_close_a_circle_is_refused_by_name(client, gym):
    text = client.get("/skills/l-hold.yaml").text
    codes = [step.code for step in skill_texts(gym.id)["l-hold"].steps]
    broken = text.replace("requires: []", f"requires: [{codes[-1]}]", 1)
    answer = client.post(IMPORT, {"text": broken})
    assert answer.status_code == 422
    assert "These steps wait for each other in a circle: " in told(answer)


def test_the_schema_is_served_to_everybody_of_the_gym(client_of, athlete_member):
    answer = client_of(athlete_member).get("/skills/schema.json")
    assert answer["Content-Type"] == "application/schema+json"
    Draft202012Validator.check_schema(json.loads(answer.content))


# ---- Who, and how much ----------------------------------------------------------------------------------------


def test_links_stand_only_for_who_may_edit(client, client_of, coach, gym):
    editor = client_of(make_member(gym, Role.COACH, "Edda Roy", rights=("may_edit_skills",)))
    for reader, offered in ((client, True), (editor, True), (client_of(coach), False)):
        assert ("/skills/add/" in reader.get("/skills/").text) == offered
        assert (ADD in reader.get("/skills/bar-pullover/").text) == offered
        assert (CHANGE in reader.get("/skills/bar-pullover/pullover-1/").text) == offered
    assert editor.post(CHANGE, sent(gym, name="Tuck")).status_code == 303


def test_queries_do_not_grow_with_what_a_step_says(client, gym, django_assert_num_queries):
    client.get(CHANGE)
    with django_assert_num_queries(12):
        client.get(CHANGE)
    step = Step.objects.get(gym=gym, code="pullover-1")
    Fault.objects.bulk_create(
        Fault(gym=gym, step=step, code=f"f{n}", name="F", cue="C", position=9 + n) for n in range(5)
    )
    with django_assert_num_queries(12):
        client.get(CHANGE)
