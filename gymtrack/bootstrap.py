"""Brings the environment up when manage.py is run on a bare machine. Standard library only.

The first start fetches uv with the pip that Python has, and uv makes `.venv` from requirements.txt; a tool
(`test`, `lint`, `bench`) gets `.venv-test` from requirements-dev.txt, so that the two never undo each
other. A stamp inside, written last, says what the environment was made from: it is missing after a start
that was cut short, and wrong after an upgrade or a move; then the environment is made anew.
"""

import argparse
import contextlib
import dataclasses
import fcntl
import hashlib
import os
import re
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# The Python below a virtual environment: the one above has no pip, and may be the very one that is cleared.
BASE = getattr(sys, "_base_executable", sys.executable)
# Where ensurepip keeps pip as a wheel, which runs as it is; the second is Debian's place.
WHEELS = (
    Path(sysconfig.get_path("stdlib"), "ensurepip", "_bundled"),
    Path(sysconfig.get_config_var("WHEEL_PKG_DIR") or os.devnull),
)
TOOLS: Mapping[str, Sequence[str]] = {
    "test": (sys.executable, "-m", "pytest"),
    "lint": ("bash", ".ci/lint"),
    "audit": (sys.executable, ".ci/audit"),
    "bench": (sys.executable, "-m", "tests.bench"),
}


class CannotStartError(Exception):
    """One sentence for the person at the shell."""


@dataclasses.dataclass(frozen=True, slots=True)
class Environment:
    """A virtual environment and the lock that it is made from; both absolute."""

    folder: Path
    lock: Path

    @property
    def python(self) -> Path:
        """Its interpreter."""
        return self.folder / "bin" / "python"

    @property
    def stamp(self) -> Path:
        """Where it says what it was made from."""
        return self.folder / ".stamp"


def enter(argv: Sequence[str]) -> None:
    """Go on inside the right environment; for a tool of TOOLS, become it. Exits with a sentence if it cannot.

    `argv` is that of manage.py. Returns only where Django's own commands are to be run by this process.
    """
    command = argv[1] if len(argv) > 1 else ""
    if command == "demo":
        choose_data(argv[2:])
    if not steps_aside(os.environ):
        environment = environment_for(command, ROOT)
        try:
            ensure(environment)
        except CannotStartError as error:
            sys.exit(f"gymtrack cannot start: {error}")
        os.environ["GYMTRACK_BOOTSTRAP"] = "off"
        os.execv(environment.python, [str(environment.python), *argv])
    if command in TOOLS:
        os.chdir(ROOT)
        os.environ["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', os.defpath)}"
        os.execvp(TOOLS[command][0], [*TOOLS[command], *argv[2:]])


def choose_data(arguments: Sequence[str]) -> None:
    """Let the settings, which are not there yet, find their data in the folder of `--data`."""
    parser = argparse.ArgumentParser(add_help=False, allow_abbrev=False)
    parser.add_argument("--data")
    folder = parser.parse_known_args(arguments)[0].data
    if folder is not None:
        os.environ["GYMTRACK_DATA"] = str(Path(folder).absolute())


def steps_aside(environ: Mapping[str, str]) -> bool:
    """Whether somebody else sees to the environment: one is active, or GYMTRACK_BOOTSTRAP=off says so."""
    return bool(environ.get("VIRTUAL_ENV")) or environ.get("GYMTRACK_BOOTSTRAP") == "off"


def environment_for(command: str, root: Path) -> Environment:
    """The environment that a command of manage.py runs in, below `root`."""
    if command in TOOLS:
        return Environment(root / ".venv-test", root / "requirements-dev.txt")
    return Environment(root / ".venv", root / "requirements.txt")


def ensure(environment: Environment) -> None:
    """Make the environment unless it stands. Raises CannotStartError."""
    if is_fresh(environment):
        return
    boot = environment.folder.parent / ".boot"
    try:
        with locked(boot):
            if not is_fresh(environment):
                bring_up(environment, boot)
    except OSError as error:
        raise CannotStartError(
            f"{environment.folder.parent} must be a folder that you may write to, with room left ({error})"
        ) from error


def is_fresh(environment: Environment) -> bool:
    """Whether the environment is whole and was made from this lock, by this Python, in this place."""
    with contextlib.suppress(OSError):
        return environment.python.exists() and environment.stamp.read_bytes() == stamp_for(environment)
    return False


def stamp_for(environment: Environment) -> bytes:
    """What an environment depends on, in one SHA-256 in hex digits."""
    made_of = [sys.implementation.cache_tag, str(environment.folder), environment.lock.read_text()]
    return hashlib.sha256("\n".join(made_of).encode()).hexdigest().encode()


@contextlib.contextmanager
def locked(boot: Path) -> Iterator[None]:
    """Let one start at a time work below `boot`; the others wait and then find it done."""
    boot.mkdir(exist_ok=True)
    with (boot / "lock").open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


def bring_up(environment: Environment, boot: Path) -> None:
    """Make the environment from nothing, whatever was left there. Raises CannotStartError and OSError."""
    sys.stderr.write(f"Making {environment.folder.name} from {environment.lock.name} (needs the network) …\n")
    environment.stamp.unlink(missing_ok=True)
    uv = uv_in(boot, environment.lock.with_name("requirements-dev.txt").read_text())
    run(uv, "venv", "--quiet", "--clear", "--no-project", "--python", BASE, environment.folder)
    sync = (uv, "pip", "sync", "--quiet", "--require-hashes", "--compile-bytecode")
    wanted = ("--python", environment.python, environment.lock)
    try:
        run(*sync, *wanted)
    except CannotStartError:  # where a network has its own certificates, only the machine's store knows them
        run(*sync, "--system-certs", *wanted)
    environment.stamp.write_bytes(stamp_for(environment))


def uv_in(boot: Path, lock: str) -> Path:
    """The uv that the text `lock` pins and hashes, fetched by pip into `boot` unless it runs there."""
    pin = uv_pin(lock)
    folder = boot / f"uv-{hashlib.sha256(pin.encode()).hexdigest()[:12]}"
    uv = folder / "bin" / "uv"
    if not runs(uv):
        shutil.rmtree(folder, ignore_errors=True)
        wanted = boot / "uv.txt"
        wanted.write_text(pin)
        quietly = ("--quiet", "--disable-pip-version-check")
        run(*pip(), "install", *quietly, "--no-deps", "--require-hashes", "--target", folder, "-r", wanted)
    return uv


def uv_pin(lock: str) -> str:
    """The requirement of uv with its hashes, as it stands in the text of a lock."""
    found = re.search(r"^uv==(?:.*\\\n)*.*\n", lock, re.MULTILINE)
    if not found:
        raise CannotStartError("requirements-dev.txt does not pin uv; make the locks anew with .ci/lock")
    return found[0]


def runs(*program: str | Path) -> bool:
    """Whether a program is there and whole enough to tell its version."""
    with contextlib.suppress(OSError):
        return subprocess.run([*program, "--version"], capture_output=True, check=False).returncode == 0
    return False


def pip() -> tuple[str | Path, ...]:
    """How to call pip: Python's own, or the one that ensurepip carries where none is installed."""
    wheels = [wheel for folder in WHEELS for wheel in folder.glob("pip-*.whl")]
    for command in [(BASE, "-m", "pip"), *((BASE, wheel / "pip") for wheel in wheels)]:
        if runs(*command):
            return command
    raise CannotStartError("this Python has no pip; install it (Debian, Ubuntu: apt install python3-pip)")


def run(*command: str | Path) -> None:
    """Run a step of the start. Raises CannotStartError with the last thing that the step said."""
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        said = [line.strip() for line in (done.stderr or done.stdout).splitlines() if line.strip()]
        reason = [line for line in said if not line.startswith("hint")] or [f"exit status {done.returncode}"]
        raise CannotStartError(
            "making the environment failed; it needs the network this once, and room on the disk; then start "
            f"again ({reason[-1]})"
        )
