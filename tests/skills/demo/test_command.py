"""`manage.py demo` as a person starts it: in a process of its own, on a free port of this machine."""

import json
import os
import re
import signal
import socket
import stat
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, Request, build_opener, urlopen
from uuid import uuid4

import pytest

from athletes.core.tablets import is_code, is_weak
from gymtrack.bootstrap import ROOT, choose_data
from skills.demo import serving
from skills.demo.serving import AddressError, checked_address, is_loopback, names_for, url_of

LONGEST_SECONDS = 300
ROLES = ("owner", "coach", "athlete", "guardian")
# Nothing of the tests' own settings: no database, no data folder.
ENVIRON = {"PATH": os.defpath, "HOME": "/tmp", "GYMTRACK_BOOTSTRAP": "off"}  # noqa: S108


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def command(*arguments: str | Path | int) -> list[str]:
    return [sys.executable, "manage.py", "demo", *map(str, arguments)]


def refused(*arguments: str | Path | int, **environ: str) -> str:
    """What the command says before it ends with code 1."""
    done = subprocess.run(
        command(*arguments),
        cwd=ROOT,
        env={**ENVIRON, **environ},
        capture_output=True,
        text=True,
        check=False,
        timeout=LONGEST_SECONDS,
    )
    assert done.returncode == 1
    assert done.stdout == ""
    return done.stderr.strip()


class Started:
    """A demo that runs."""

    def __init__(self, process: "subprocess.Popen[str]") -> None:
        self.process = process
        self.said = "".join(iter(process.stdout.readline, "Ctrl+C stops it.\n"))  # type: ignore[union-attr]
        self.url = re.findall(r"^Open (http\S+)$", self.said, re.MULTILINE)[0]

    def page(self, path: str) -> str:
        with urlopen(self.url + path, timeout=30) as answer:  # noqa: S310 - http on this machine
            return answer.read().decode()

    def stop(self, with_signal: signal.Signals) -> tuple[int, str]:
        self.process.send_signal(with_signal)
        said, _ = self.process.communicate(timeout=30)
        return self.process.returncode, said


@contextmanager
def started(*arguments: str | Path | int) -> Iterator[Started]:
    process = subprocess.Popen(
        command("--port", free_port(), *arguments),
        cwd=ROOT,
        env=ENVIRON,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    watchdog = threading.Timer(LONGEST_SECONDS, process.kill)
    watchdog.start()
    try:
        yield Started(process)
    finally:
        watchdog.cancel()
        if process.poll() is None:
            process.terminate()
            process.communicate(timeout=30)


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("demo") / "data"


@pytest.fixture(scope="module")
def first(folder) -> Iterator[Started]:
    """The first start in a folder."""
    with started("--data", folder, "--until", "2026-03-15") as demo:
        yield demo


@pytest.fixture(scope="module")
def second(folder, first) -> Iterator[Started]:
    """The second start in the same folder, which the first one has left."""
    first.stop(signal.SIGINT)
    with started(f"--data={folder}") as demo:
        yield demo


def logins(said: str) -> dict[str, str]:
    return dict(re.findall(r"^(owner|coach|athlete|guardian|password) +(\S+)$", said, re.MULTILINE))


def test_first_start_serves_the_pages_and_their_style(first):
    assert 'name="password"' in first.page("account/sign-in/")
    assert ":root" in first.page("static/css/base.css")


def test_first_start_prints_a_log_in_for_each_role(first, folder):
    assert {*logins(first.said)} == {*ROLES, "password"}
    kept = folder / "demo_logins.txt"
    assert kept.read_text() in first.said
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def codes(said: str) -> dict[str, str]:
    return dict(re.findall(r"^(tablet|\w+-code) +(\S+)$", said, re.MULTILINE))


def test_first_start_prints_the_codes_of_the_gym_floor(first):
    told = codes(first.said)
    tablet = told.pop("tablet")
    assert re.fullmatch("[A-Z2-9]{4}-[A-Z2-9]{4}", tablet)
    assert {*told} == {"owner-code", "coach-code", "coach2-code", "coach3-code"}
    assert all(is_code(code) and not is_weak(code) for code in told.values())
    assert f"{first.url}floor/" in first.said


def test_first_start_keeps_the_truth(first, folder):
    assert (folder / "demo_truth.json").stat().st_size > 10_000


def test_a_port_that_is_taken_is_told_in_a_sentence(first, folder):
    port = int(first.url.rstrip("/").rpartition(":")[2])
    said = refused("--port", port, "--data", folder)
    assert said == (
        f"CommandError: Port {port} is taken by another program: choose another one, such as --port {port + 1}."
    )


def test_second_start_keeps_the_gym_and_its_log_ins(first, folder, second):
    assert logins(second.said) == logins(first.said)
    assert "Making" in first.said
    assert "Making" not in second.said


def called(url: str, body: dict[str, str], **headers: str) -> dict[str, str]:
    """What the API answers to a tablet on a page of this site."""
    origin = url.partition("/api/")[0]
    sent = {"Content-Type": "application/json", "Origin": origin, **headers}
    request = Request(url, json.dumps(body).encode(), sent)  # noqa: S310 - http on this machine
    with urlopen(request, timeout=30) as answer:  # noqa: S310
        told: dict[str, str] = json.loads(answer.read())
        return told


def test_second_start_keeps_the_coaches_codes_and_offers_the_tablet_anew_until_it_is_let_in(first, folder, second):
    before, printed = codes(first.said), codes(second.said)
    assert {**before, "tablet": ""} == {**printed, "tablet": ""}
    assert before["tablet"] != printed["tablet"]
    api = f"{second.url}api/v1/floor/"
    key = called(f"{api}enrol/", {"code": printed["tablet"]})["key"]
    hello = Request(f"{api}hello/", headers={"Authorization": f"Tablet {key}"})  # noqa: S310
    with urlopen(hello, timeout=30) as answer:  # noqa: S310
        coaches = json.loads(answer.read())["coaches"]
    assert all(coach["has_code"] for coach in coaches)
    (coach,) = (coach for coach in coaches if coach["name"] == "Rui Carvalhosa")
    body = {"id": str(uuid4()), "coach": coach["id"], "code": printed["coach-code"], "sent_at": "2026-03-15T18:00:00Z"}
    assert called(f"{api}hand-over/", body, Authorization=f"Tablet {key}")["name"] == "Rui Carvalhosa"


@pytest.mark.parametrize("role", ROLES)
def test_who_is_printed_may_sign_in(second, role):
    printed = logins(second.said)
    browser = build_opener(HTTPCookieProcessor(CookieJar()))
    page = browser.open(f"{second.url}account/sign-in/", timeout=30).read().decode()
    token = re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[0]
    form = {"login": printed[role], "password": printed["password"], "csrfmiddlewaretoken": token}
    answer = browser.open(f"{second.url}account/sign-in/", urlencode(form).encode(), timeout=30)
    assert "sign-in" not in answer.url
    assert answer.status == 200


def test_interrupt_ends_it_cleanly(second):
    status, said = second.stop(signal.SIGINT)
    *logged, last = said.splitlines()
    assert (status, last) == (0, "Stopped.")
    assert [line for line in logged if " INFO gymtrack.security " not in line] == []


def test_empty_leaves_the_founding_to_who_comes_first_and_sigterm_ends_it_cleanly(tmp_path):
    with started("--data", tmp_path, "--empty") as demo:
        assert "who opens the page first founds it" in demo.said
        assert logins(demo.said) == {}
        assert 'name="owner_name"' in demo.page("")
        assert demo.stop(signal.SIGTERM) == (0, "Stopped.\n")


def test_data_that_is_a_file_is_told_in_a_sentence(tmp_path):
    file = tmp_path / "notes.txt"
    file.write_text("mine")
    assert refused("--data", file) == (
        f"gymtrack cannot start: The data folder {file} cannot be used: it is a file. Choose another one with --data."
    )
    assert file.read_text() == "mine"


def test_folder_that_cannot_be_made_is_told_in_a_sentence():
    assert re.fullmatch(
        r"gymtrack cannot start: The data folder /proc/gym cannot be used: [^.]+\. Choose another one with --data\.",
        refused("--data", "/proc/gym"),
    )


def test_file_that_is_no_database_is_told_in_a_sentence(tmp_path):
    (tmp_path / "gym.sqlite3").write_text("not a database, but long enough to be looked at as one" * 20)
    assert refused("--data", tmp_path, "--port", free_port()) == (
        f"CommandError: The data folder {tmp_path} cannot be used: file is not a database. "
        "Choose another one with --data."
    )


@pytest.mark.parametrize(
    ("until", "sentence"),
    [
        ("15.3.2026", "--until takes a date such as "),
        ("2026-02-30", "--until takes a date such as "),
        ("2999-01-01", "--until takes a date from 2000-01-01 to today ("),
        ("0001-01-01", "--until takes a date from 2000-01-01 to today ("),
    ],
)
def test_until_that_is_no_past_date_is_told_in_a_sentence(tmp_path, until, sentence):
    said = refused("--data", tmp_path, "--until", until)
    assert said.startswith(f"CommandError: {sentence}")
    assert "\n" not in said


def test_another_database_is_left_alone(tmp_path):
    said = refused("--data", tmp_path, "--port", free_port(), DATABASE_URL="postgresql://nobody@127.0.0.1:1/gym")
    assert said == "CommandError: The demo keeps its gym in a SQLite file: unset DATABASE_URL first."


@pytest.mark.parametrize("port", [0, -1, 65536])
def test_numbers_that_are_no_port_are_refused(port):
    with pytest.raises(AddressError, match=r"A port is a number from 1 to 65535"):
        checked_address("127.0.0.1", port)


def test_host_that_is_not_this_machine_is_refused():
    with pytest.raises(AddressError, match=r"This machine cannot be served at 192\.0\.2\.77"):
        checked_address("192.0.2.77", free_port())


def test_loopback_is_asked_for_by_its_own_name():
    assert is_loopback("127.0.0.1")
    assert names_for("localhost", "127.0.0.1") == ["localhost", "127.0.0.1"]
    assert url_of("127.0.0.1", 8000) == "http://127.0.0.1:8000/"
    assert url_of("::1", 8000) == "http://[::1]:8000/"


def test_serving_everywhere_is_asked_for_by_the_names_of_this_machine(monkeypatch):
    monkeypatch.setattr(serving, "_own_addresses", lambda: ["192.0.2.9"])
    name = socket.gethostname()
    assert names_for("0.0.0.0", "0.0.0.0") == ["192.0.2.9", name, f"{name}.local"]  # noqa: S104 - nothing is served
    assert not is_loopback("0.0.0.0")  # noqa: S104


@pytest.mark.parametrize(
    "arguments", [("--data", "there"), ("--data=there",), ("--port", "1", "--data", "there", "--empty")]
)
def test_folder_is_chosen_before_the_settings_are_read(monkeypatch, arguments):
    monkeypatch.setenv("GYMTRACK_DATA", "elsewhere")
    choose_data(arguments)
    assert os.environ["GYMTRACK_DATA"] == str(Path.cwd() / "there")


def test_without_data_the_folder_stays_what_it_was(monkeypatch):
    monkeypatch.setenv("GYMTRACK_DATA", "elsewhere")
    choose_data(("--port", "1"))
    assert os.environ["GYMTRACK_DATA"] == "elsewhere"
