import io
import json

import pytest
from django.core.management import CommandError, call_command

from tests.bench.management.commands.bench import NAMES, Command
from tests.bench.stores import own_store


@pytest.mark.django_db(transaction=True)
def test_one_figure_comes_alone_as_json_on_the_last_line():
    out = io.StringIO()
    call_command(Command(), "--json", "--only", "log_attempt_over_raw_insert", "--attempts", "20", stdout=out)
    (figure,) = json.loads(out.getvalue().splitlines()[-1])
    assert figure["name"] == "log_attempt_over_raw_insert"
    assert figure["ratio"] > 1
    assert figure["met"] is (figure["ratio"] <= figure["goal"])


def test_a_figure_that_is_not_there_is_refused_with_the_names_that_are():
    with pytest.raises(CommandError, match="import_attempts"):
        call_command(Command(), "--only", "lap_time")


def test_every_figure_has_a_name_of_its_own():
    assert len(set(NAMES)) == len(NAMES)


def test_a_store_is_named_by_its_url_and_gone_afterwards(tmp_path, monkeypatch):
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with own_store() as environ:
        (folder,) = tmp_path.iterdir()
        assert environ == {"GYMTRACK_DATA": str(folder), "DATABASE_URL": f"sqlite:///{folder}/gym.sqlite3"}
    assert list(tmp_path.iterdir()) == []
