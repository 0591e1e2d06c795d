"""Measure how fast it is: `python3 manage.py bench [--json] [--only NAME] [--attempts N]`.

Every figure is a ratio of two medians, measured in turns in one run: what it took over a floor that nothing
could beat. A goal that is missed is told and is no failure, since another machine at another hour decides it
otherwise; the exit status says only whether everything ran and nothing was lost or doubled.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from django.core.management import BaseCommand, CommandParser, call_command

from tests.bench import bulk, crowd, histories, machine, pages, plans, writing
from tests.bench.figures import Figure, json_line

# Each measure yields the figures that it is named after.
MEASURES: dict[tuple[str, ...], Callable[[int], list[Figure]]] = {
    ("log_attempt_over_raw_insert",): writing.over_raw_insert,
    ("log_attempt_over_idle_page",): pages.log_attempt,
    ("log_attempt_and_panel_over_idle_page",): pages.log_attempt_and_panel,
    ("board_over_idle_page",): pages.board,
    ("eight_clients_over_one", "eight_clients_worst_wait"): crowd.eight_clients,
    ("rebuild_over_reading",): bulk.rebuild,
    ("log_attempt_history_growth",): writing.history_growth,
    ("athlete_page_history_growth", "athlete_page_after_a_try_history_growth"): histories.athlete_page,
    ("import_attempts", "import_attempts_over_a_minute"): bulk.import_sheet,
    **plans.MEASURES,
    ("board_while_planning",): plans.board_meanwhile,
}
NAMES = [name for names in MEASURES for name in names]


class Command(BaseCommand):
    help = "Measure how fast it is, as ratios to what nothing could beat. A missed goal is told, not a failure."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--json", action="store_true", help="print the figures as JSON on the last line")
        parser.add_argument("--only", choices=NAMES, metavar="NAME", help=f"one figure of: {', '.join(NAMES)}")
        parser.add_argument("--attempts", type=int, default=200, metavar="N", help="how often each thing is done")

    def handle(self, *, json: bool, only: str | None, attempts: int, **_options: object) -> None:
        call_command("migrate", verbosity=0)
        self.stdout.write(machine.description())
        figures = []
        for figure in _measured(only, attempts):
            self.stdout.write(figure.row())
            self.stdout.flush()
            figures.append(figure)
        if json:
            self.stdout.write(json_line(figures))


def _measured(only: str | None, attempts: int) -> Iterator[Figure]:
    for names, measure in MEASURES.items():
        if only is None or only in names:
            yield from (figure for figure in measure(attempts) if only in (None, figure.name))
