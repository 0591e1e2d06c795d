"""What stands between a bare machine and the first page. Nothing here needs the network."""

import ast
import os
import re
import shutil
import subprocess
import sys
import threading
from pathlib import Path
from typing import NoReturn

import pytest

from gymtrack import bootstrap

PIN = "uv==0.0.1 \\\n    --hash=sha256:aa \\\n    --hash=sha256:bb\n"
OFFLINE = {
    "PIP_CONFIG_FILE": os.devnull,
    "PIP_INDEX_URL": "http://127.0.0.1:1/",
    "PIP_NO_CACHE_DIR": "1",
    "PIP_RETRIES": "0",
}


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """The files that a start needs, in a folder of their own."""
    for name in ("manage.py", "requirements.txt", "requirements-dev.txt"):
        shutil.copy(bootstrap.ROOT / name, tmp_path)
    (tmp_path / "gymtrack").mkdir()
    for name in ("__init__.py", "bootstrap.py"):
        shutil.copy(bootstrap.ROOT / "gymtrack" / name, tmp_path / "gymtrack")
    return tmp_path


@pytest.fixture
def environment(tmp_path: Path) -> bootstrap.Environment:
    """Looks like one that stands, but for its stamp."""
    environment = bootstrap.environment_for("demo", tmp_path)
    environment.lock.write_text("django==5.2.1\n")
    environment.python.parent.mkdir(parents=True)
    environment.python.symlink_to(sys.executable)
    return environment


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, ...]]:
    """The steps that a start takes, written down instead of taken."""
    taken: list[tuple[str, ...]] = []

    def take(*command: str | Path) -> None:
        taken.append(tuple(map(str, command)))
        if "venv" in command:
            python = Path(command[-1], "bin", "python")
            python.parent.mkdir(parents=True, exist_ok=True)
            python.unlink(missing_ok=True)
            python.symlink_to(sys.executable)

    monkeypatch.setattr(bootstrap, "run", take)
    monkeypatch.setattr(bootstrap, "runs", lambda *_: True)
    return taken


def start(project: Path, *arguments: str, **environ: str) -> subprocess.CompletedProcess[str]:
    """Run manage.py with the Python below this environment, which has pip and nothing of ours."""
    return subprocess.run(
        [bootstrap.BASE, "manage.py", *arguments],
        cwd=project,
        env={"PATH": os.defpath, "HOME": str(project), **environ},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


@pytest.mark.parametrize(
    ("command", "folder", "lock"),
    [
        ("demo", ".venv", "requirements.txt"),
        ("migrate", ".venv", "requirements.txt"),
        ("", ".venv", "requirements.txt"),
        ("test", ".venv-test", "requirements-dev.txt"),
        ("lint", ".venv-test", "requirements-dev.txt"),
        ("audit", ".venv-test", "requirements-dev.txt"),
        ("bench", ".venv-test", "requirements-dev.txt"),
    ],
)
def test_a_command_gets_its_environment(command, folder, lock, tmp_path):
    expected = bootstrap.Environment(tmp_path / folder, tmp_path / lock)
    assert bootstrap.environment_for(command, tmp_path) == expected


@pytest.mark.parametrize(
    ("environ", "aside"),
    [
        ({}, False),
        ({"VIRTUAL_ENV": ""}, False),
        ({"VIRTUAL_ENV": "/somewhere"}, True),
        ({"GYMTRACK_BOOTSTRAP": "off"}, True),
        ({"GYMTRACK_BOOTSTRAP": "on"}, False),
    ],
)
def test_it_steps_aside_for_an_active_environment_or_on_request(environ, aside):
    assert bootstrap.steps_aside(environ) is aside


def test_a_stamped_environment_is_fresh(environment):
    environment.stamp.write_bytes(bootstrap.stamp_for(environment))
    assert bootstrap.is_fresh(environment)


def test_an_environment_without_a_stamp_is_not_fresh(environment):
    assert not bootstrap.is_fresh(environment)


def test_an_environment_of_an_older_lock_is_not_fresh(environment):
    environment.stamp.write_bytes(bootstrap.stamp_for(environment))
    environment.lock.write_text("django==5.2.2\n")
    assert not bootstrap.is_fresh(environment)


def test_an_environment_whose_python_has_gone_is_not_fresh(environment):
    environment.stamp.write_bytes(bootstrap.stamp_for(environment))
    environment.python.unlink()
    environment.python.symlink_to("/nowhere/python")
    assert not bootstrap.is_fresh(environment)


def test_an_environment_that_was_moved_is_not_fresh(environment, tmp_path):
    environment.stamp.write_bytes(bootstrap.stamp_for(environment))
    moved = bootstrap.environment_for("demo", tmp_path / "elsewhere")
    shutil.copytree(tmp_path, tmp_path / "elsewhere", symlinks=True)
    assert not bootstrap.is_fresh(moved)


def test_another_python_wants_another_environment(environment, monkeypatch):
    before = bootstrap.stamp_for(environment)
    monkeypatch.setattr(sys.implementation, "cache_tag", "cpython-399")
    assert bootstrap.stamp_for(environment) != before


def test_a_fresh_environment_takes_no_step_and_no_writing(environment, steps, tmp_path):
    environment.stamp.write_bytes(bootstrap.stamp_for(environment))
    bootstrap.ensure(environment)
    assert steps == []
    assert not (tmp_path / ".boot").exists()


def test_a_broken_stamp_is_mended_by_making_the_environment_anew(environment, steps, tmp_path):
    (tmp_path / "requirements-dev.txt").write_text(PIN)
    environment.stamp.write_bytes(b"\xff\x00 cut sh")
    bootstrap.ensure(environment)
    assert [step[1] for step in steps] == ["venv", "pip"]
    assert bootstrap.is_fresh(environment)


def test_a_start_cut_short_leaves_no_stamp(environment, steps, tmp_path, monkeypatch):
    (tmp_path / "requirements-dev.txt").write_text(PIN)
    environment.stamp.write_text("older")

    def cut(*command: str | Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(bootstrap, "run", cut)
    with pytest.raises(KeyboardInterrupt):
        bootstrap.ensure(environment)
    assert not environment.stamp.exists()


def test_the_machines_own_certificates_are_tried_when_the_usual_ones_fail(environment, steps, tmp_path, monkeypatch):
    (tmp_path / "requirements-dev.txt").write_text(PIN)
    take = bootstrap.run

    def refuse(*command: str | Path) -> None:
        if "sync" in command and "--system-certs" not in command:
            raise bootstrap.CannotStartError
        take(*command)

    monkeypatch.setattr(bootstrap, "run", refuse)
    bootstrap.ensure(environment)
    assert "--system-certs" in steps[-1]
    assert bootstrap.is_fresh(environment)


def test_two_starts_at_once_make_the_environment_once(environment, steps, tmp_path):
    (tmp_path / "requirements-dev.txt").write_text(PIN)
    threads = [threading.Thread(target=bootstrap.ensure, args=[environment]) for _ in range(2)]
    with bootstrap.locked(tmp_path / ".boot"):
        for thread in threads:
            thread.start()
        assert steps == []
    for thread in threads:
        thread.join(timeout=20)
    assert [step[1] for step in steps] == ["venv", "pip"]


def test_uv_is_taken_with_its_hashes_from_the_lock():
    lock = f"uuid6==1 \\\n    --hash=sha256:cc\n{PIN}    # via gymtrack\nwheel==1\n"
    assert bootstrap.uv_pin(lock) == PIN


def test_the_lock_that_is_shipped_pins_uv():
    pin = bootstrap.uv_pin((bootstrap.ROOT / "requirements-dev.txt").read_text())
    assert re.fullmatch(r"uv==[\d.]+ \\\n(    --hash=sha256:[0-9a-f]{64}( \\)?\n)+", pin)


def test_a_lock_without_uv_is_told_so():
    with pytest.raises(bootstrap.CannotStartError, match=r"does not pin uv"):
        bootstrap.uv_pin("django==5.2.1\n")


def test_a_half_fetched_uv_is_fetched_again(tmp_path, steps, monkeypatch):
    monkeypatch.setattr(bootstrap, "runs", lambda *program: "pip" in program)
    (tmp_path / ".boot").mkdir()
    rest = bootstrap.uv_in(tmp_path / ".boot", PIN).parent.parent / "rest"
    rest.mkdir(parents=True)
    bootstrap.uv_in(tmp_path / ".boot", PIN)
    assert not rest.exists()
    assert [step[1:4] for step in steps] == [("-m", "pip", "install")] * 2


def test_a_uv_that_runs_is_not_fetched_again(tmp_path, steps):
    bootstrap.uv_in(tmp_path, PIN)
    assert steps == []


@pytest.mark.parametrize("content", ["\x7fELF cut short", "#!/nowhere/sh\n", "#!/bin/sh\nexit 3\n"])
def test_a_program_that_is_broken_does_not_run(content, tmp_path):
    program = tmp_path / "uv"
    program.write_text(content)
    program.chmod(0o755)
    assert not bootstrap.runs(program)


def test_a_program_that_is_whole_runs():
    assert bootstrap.runs(Path(sys.executable))


def test_a_program_that_is_missing_does_not_run(tmp_path):
    assert not bootstrap.runs(tmp_path / "uv")


def test_pip_is_pythons_own(monkeypatch):
    monkeypatch.setattr(bootstrap, "runs", lambda *_: True)
    assert bootstrap.pip() == (bootstrap.BASE, "-m", "pip")


def test_pip_is_taken_from_ensurepip_where_none_is_installed(monkeypatch, tmp_path):
    wheel = tmp_path / "pip-23.0-py3-none-any.whl"
    wheel.touch()
    monkeypatch.setattr(bootstrap, "WHEELS", [tmp_path / "missing", tmp_path])
    monkeypatch.setattr(bootstrap, "runs", lambda *program: "-m" not in program)
    assert bootstrap.pip() == (bootstrap.BASE, wheel / "pip")


def test_a_python_without_pip_is_told_how_to_get_it(monkeypatch):
    monkeypatch.setattr(bootstrap, "WHEELS", [])
    monkeypatch.setattr(bootstrap, "runs", lambda *_: False)
    with pytest.raises(bootstrap.CannotStartError, match=r"this Python has no pip; install it"):
        bootstrap.pip()


def test_a_failed_step_says_its_last_word_but_no_hint():
    script = "import sys; sys.exit('error: no route\\n  Caused by: the cable\\nhint: try harder')"
    with pytest.raises(bootstrap.CannotStartError, match=r"the network .* \(Caused by: the cable\)$"):
        bootstrap.run(sys.executable, "-c", script)


def test_a_failed_step_that_says_nothing_is_named_by_its_status():
    with pytest.raises(bootstrap.CannotStartError, match=r"\(exit status 7\)$"):
        bootstrap.run(sys.executable, "-c", "raise SystemExit(7)")


def test_no_network_on_the_first_start_is_one_sentence(project):
    done = start(project, "demo", **OFFLINE)
    making, sentence = done.stderr.splitlines()
    assert (done.returncode, making) == (1, "Making .venv from requirements.txt (needs the network) …")
    assert re.fullmatch(r"gymtrack cannot start: .* needs the network this once, .* \(.+uv==.+\)", sentence)
    assert not (project / ".venv").exists()


def test_a_folder_that_cannot_be_written_to_is_one_sentence(project):
    (project / ".boot").write_text("a file in the way refuses root as well")
    done = start(project, "demo", **OFFLINE)
    assert done.returncode == 1
    assert re.fullmatch(
        rf"gymtrack cannot start: {project} must be a folder that you may write to, with room left \(.+\)\n",
        done.stderr,
    )


def test_a_read_only_folder_is_one_sentence(environment, monkeypatch):
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied", ".boot")

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(bootstrap.CannotStartError, match=r"must be a folder that you may write to"):
        bootstrap.ensure(environment)


def test_a_package_that_is_missing_after_stepping_aside_is_one_sentence(project):
    done = start(project, "migrate", GYMTRACK_BOOTSTRAP="off")
    assert done.returncode == 1
    assert re.fullmatch(r"This environment lacks a package \(.*django.*\): .*\n", done.stderr)


def test_an_old_python_is_turned_away_in_one_sentence(tmp_path):
    (tmp_path / "old.py").write_text(
        "import runpy, sys\nsys.version_info = (3, 6, 15)\nrunpy.run_path(sys.argv[1], run_name='__main__')\n"
    )
    done = subprocess.run(
        [sys.executable, tmp_path / "old.py", bootstrap.ROOT / "manage.py"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert done.stderr == "gymtrack needs Python 3.11 or newer, and this is Python 3.6.\n"


def test_an_old_python_can_read_the_file_that_turns_it_away():
    ast.parse((bootstrap.ROOT / "manage.py").read_text(encoding="ascii"), feature_version=(3, 4))


def test_the_bootstrap_needs_the_standard_library_alone():
    tree = ast.parse((bootstrap.ROOT / "gymtrack" / "bootstrap.py").read_text())
    imported = {
        name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in ([node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names])
    }
    assert imported <= sys.stdlib_module_names


def test_a_tool_gets_the_arguments_and_the_environments_programs(monkeypatch):
    called: list[object] = []
    monkeypatch.setattr(os, "environ", {"GYMTRACK_BOOTSTRAP": "off", "PATH": "/bin"})
    monkeypatch.setattr(os, "execvp", lambda *call: called.extend(call))
    monkeypatch.setattr(os, "chdir", called.append)
    bootstrap.enter(["manage.py", "test", "-k", "months"])
    assert called == [bootstrap.ROOT, sys.executable, [sys.executable, "-m", "pytest", "-k", "months"]]
    assert os.environ["PATH"] == f"{Path(sys.executable).parent}:/bin"


def test_a_command_of_django_is_left_to_django(monkeypatch):
    monkeypatch.setenv("GYMTRACK_BOOTSTRAP", "off")
    monkeypatch.delattr(os, "execvp")
    bootstrap.enter(["manage.py", "migrate"])


def test_a_bare_start_goes_on_in_its_environment(monkeypatch):
    called: list[object] = []

    def become(*call: object) -> NoReturn:
        called.extend(call)
        raise SystemExit

    monkeypatch.setattr(os, "environ", {})
    monkeypatch.setattr(os, "execv", become)
    monkeypatch.setattr(bootstrap, "ensure", called.append)
    with pytest.raises(SystemExit):
        bootstrap.enter(["manage.py", "demo", "--port", "8001"])
    environment = bootstrap.environment_for("demo", bootstrap.ROOT)
    python = environment.python
    assert called == [environment, python, [str(python), "manage.py", "demo", "--port", "8001"]]
    assert os.environ == {"GYMTRACK_BOOTSTRAP": "off"}
