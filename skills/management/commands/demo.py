"""`manage.py demo`: open the demo gym on this machine, or with --empty a place for one's own.

The folder of --data is chosen in `gymtrack.bootstrap`, before there are settings.
"""

from __future__ import annotations

import signal
import tempfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from athletes.core.zones import zone_named
from skills.demo.cast import ZONE
from skills.demo.filling import fill
from skills.demo.floor import give_codes, offer_tablet
from skills.demo.logins import FILE_NAME, forget_logins, keep_codes, keep_logins, kept_logins, new_password
from skills.demo.serving import AddressError, allow_names, checked_address, is_loopback, names_for, serve, url_of
from skills.demo.simulation import simulate
from skills.demo.truth import truth_json
from skills.queries.founding import is_founded

EARLIEST = date(2000, 1, 1)
SEED = 1
TRUTH_NAME = "demo_truth.json"
OPEN_NETWORK = (
    "Everybody on this network can reach it, and over plain http they can read along, passwords too; browsers switch\n"
    "some of their features off as well. Look around like this; for a real gym put HTTPS in front."
)
ON_THE_FLOOR = "For the gym floor: the tablet's code, good for a day, and then a coach's code let a browser in at"


class Command(BaseCommand):
    help = "Open the demo gym on this machine: makes it on the first start and keeps it for the next."
    requires_system_checks = []

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:  # noqa: ANN401 (Django's)
        # The folder is read before Django is there, so no shortened --data may slip through here.
        return super().create_parser(prog_name, subcommand, allow_abbrev=False, **kwargs)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="where to serve; 8000 unless given")
        parser.add_argument("--host", default="127.0.0.1", help="0.0.0.0 lets the network in; else this machine alone")
        parser.add_argument("--data", metavar="DIR", help="the folder to keep everything in; .data unless given")
        parser.add_argument(
            "--empty", action="store_true", help="no demo people: who opens the page first founds a gym"
        )
        parser.add_argument(
            "--until", metavar="DATE", help="the last day of the demo, as 2026-03-15; today unless given"
        )
        parser.add_argument("--seed", type=int, default=SEED, help="another number gives another gym")

    def handle(self, **options: Any) -> None:  # noqa: ANN401 (Django's)
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            self._open(**options)
        except AddressError as error:
            raise CommandError(str(error)) from error
        except KeyboardInterrupt:
            pass
        self._say("Stopped.")

    def _open(self, *, host: str, port: int, **options: Any) -> None:  # noqa: ANN401 (Django's)
        last_day = _last_day(options["until"])
        address = checked_address(host, port)
        try:
            self._prepare(last_day, **options)
        except (DatabaseError, OSError) as error:
            message = f"The data folder {settings.DATA_DIR} cannot be used: {error}. Choose another one with --data."
            raise CommandError(message) from error
        names = names_for(host, address)
        if not is_loopback(address):
            allow_names(names)
        serve(address, port, announce=lambda: self._announce(address, url_of(names[0], port)))

    def _prepare(self, last_day: date, *, empty: bool, until: str | None, seed: int, **_options: object) -> None:
        _check_folder(settings.DATA_DIR)
        _migrate()
        founded = is_founded()
        if not founded and not empty:
            self._fill(seed, last_day)
        elif founded and (empty or until):
            self._say("There is a gym in this folder, and it stays as it is: --empty and --until are for a new one.")
        if kept_logins(settings.DATA_DIR):
            keep_codes(settings.DATA_DIR, give_codes(), offer_tablet())

    def _fill(self, seed: int, until: date) -> None:
        self._say("Making the demo gym: half a year of classes, a matter of seconds …")
        password = new_password()
        keep_logins(settings.DATA_DIR, password)
        try:
            played = simulate(seed=seed, until=until)
            Path(settings.DATA_DIR, TRUTH_NAME).write_text(truth_json(played), "ascii")
            fill(played=played, password=password)
        except BaseException:
            forget_logins(settings.DATA_DIR)
            raise

    def _announce(self, address: str, url: str) -> None:
        self._say(f"\nOpen {url}")
        logins = kept_logins(settings.DATA_DIR)
        if not is_founded():
            self._say("There is no gym yet: who opens the page first founds it.")
        elif logins:
            self._say(f"\n{logins}\nThese also stand in {settings.DATA_DIR / FILE_NAME}")
            self._say(f"{ON_THE_FLOOR} {url}floor/")
        connection.close()
        if not is_loopback(address):
            self._say(f"\n{OPEN_NETWORK}")
        self._say("\nCtrl+C stops it.")

    def _say(self, text: str) -> None:
        self.stdout.write(text)
        self.stdout.flush()


def _last_day(until: str | None) -> date:
    """Return the day that was asked for, today in the gym unless one was; raises CommandError."""
    today = datetime.now(zone_named(ZONE)).date()
    if until is None:
        return today
    try:
        day = date.fromisoformat(until)
    except ValueError:
        raise CommandError(f"--until takes a date such as {today}, not {until!r}.") from None
    if not EARLIEST <= day <= today:
        raise CommandError(f"--until takes a date from {EARLIEST} to today ({today} in the demo gym), not {day}.")
    return day


def _check_folder(folder: Path) -> None:
    """Raise CommandError unless SQLite can work in the folder."""
    if connection.vendor != "sqlite":
        raise CommandError("The demo keeps its gym in a SQLite file: unset DATABASE_URL first.")
    with tempfile.TemporaryFile(dir=folder):
        pass


def _migrate() -> None:
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        call_command("migrate", verbosity=0, interactive=False)
