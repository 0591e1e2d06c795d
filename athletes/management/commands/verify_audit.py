"""`manage.py verify_audit [--anchors FILE]`: compute the seals of the audit chains again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from athletes.management.arguments import gym_named
from athletes.models import Gym
from athletes.queries.gyms import all_gyms
from athletes.services.anchors import Anchor, anchors_path, broken_anchors, read_anchors
from athletes.services.audit import first_broken_link

LIMITS = (
    "What this cannot show: whoever has the database and the key can write another chain, and with the data folder "
    "other anchors too; only a line of anchor_audit, or a month’s file, that they cannot reach would show it. Acts "
    "that were taken from the end, head and all, since the last anchor leave no trace either: anchor often."
)


class Command(BaseCommand):
    help = "Compute every seal of the audit chains again, and compare with the anchors; exit 0 only if all hold."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", metavar="SLUG", help="only this gym")
        parser.add_argument(
            "--anchors", type=Path, metavar="FILE", help="lines of anchor_audit; else those of the data folder"
        )

    def handle(self, *, gym: str | None, anchors: Path | None, **_options: Any) -> None:  # noqa: ANN401 (Django's)
        kept, strange = _anchors(anchors)
        troubles = [f"{anchors or anchors_path()}, line {number}: not sealed by this key" for number in strange]
        for found in [gym_named(gym)] if gym else all_gyms():
            broken = [f"{found.slug}: {words}" for words in _broken(found, kept)]
            troubles += broken
            if not broken:
                self.stdout.write(f"{found.slug}: {_whole(found, kept)}")
        troubles += [] if gym else _gone(kept)
        for words in troubles:
            self.stderr.write(words)
        self.stdout.write(LIMITS)
        if troubles:
            raise CommandError(
                "An audit chain is broken: somebody changed what had been recorded, or the key is another."
            )


def _anchors(path: Path | None) -> tuple[list[Anchor], list[int]]:
    if path and not path.is_file():
        raise CommandError(f"There is no file {path}.")
    try:
        return read_anchors(path or anchors_path())
    except OSError as error:
        raise CommandError(f"The anchors cannot be read: {error.strerror}.") from error


def _broken(gym: Gym, kept: Sequence[Anchor]) -> Iterator[str]:
    position = first_broken_link(gym)
    if position is not None:
        yield f"broken at entry {position}"
    for anchor in broken_anchors(gym, kept):
        yield f"entry {anchor.length} is missing or another than on {anchor.at} (anchor {anchor.number})"


def _gone(kept: Sequence[Anchor]) -> list[str]:
    gone = sorted({str(anchor.gym_id) for anchor in kept} - {str(gym.pk) for gym in all_gyms()})
    return [f"gym {gym_id}: was anchored and is not in the database" for gym_id in gone]


def _whole(gym: Gym, kept: Sequence[Anchor]) -> str:
    mine = [anchor.length for anchor in kept if anchor.gym_id == gym.pk]
    return "whole, " + (f"anchored up to entry {max(mine)}" if mine else "and never anchored: run anchor_audit")
