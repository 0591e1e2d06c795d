import pytest

from athletes.forms.founding import FoundingForm
from athletes.services.accounts import BadEmail
from athletes.services.gyms import found_gym
from tests.factories.athletes import PASSWORD

TYPED = {
    "name": "Mill Hall",
    "time_zone": "Europe/Berlin",
    "units": "metric",
    "owner_name": "Rosa Lenk",
    "owner_email": "rosa@mill.example",
    "password": PASSWORD,
}


def test_a_good_form_is_what_founding_asks_for(db):
    form = FoundingForm(TYPED)
    assert form.is_valid()
    assert found_gym(**form.cleaned_data).gym.name == "Mill Hall"


@pytest.mark.parametrize("field", TYPED)
def test_each_field_is_asked_for_by_its_name(field):
    form = FoundingForm({**TYPED, field: ""})
    assert dict(form.errors) == {field: [f"{form.fields[field].label} is missing."]}


def test_a_bad_address_is_told_beside_the_owners(db):
    form = FoundingForm({**TYPED, "owner_email": "rosa"})
    assert form.is_valid()
    with pytest.raises(BadEmail) as caught:
        found_gym(**form.cleaned_data)
    form.refuse(caught.value)
    assert list(form.errors) == ["owner_email"]
    assert form.status == 422


def test_the_password_is_given_back_with_other_mistakes():
    assert f'value="{PASSWORD}"' in str(FoundingForm({**TYPED, "name": ""})["password"])
