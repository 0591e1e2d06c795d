"""What is kept outside of the database."""

from __future__ import annotations

from typing import Final

from athletes.core.kept.line import Erasing, Kept

# What is kept outside of the database.
OUTSIDE: Final[tuple[Kept, ...]] = (
    Kept(
        "Mail that was written to files instead of being sent, where the gym runs on one machine without a mail server",
        "whom it was written to",
        "to read it there",
        "until erasure, which deletes the files that name them; else until somebody deletes them",
        Erasing.DELETE,
    ),
    Kept(
        "The list of erasures and the anchors of the chain of acts: random numbers, moments, seals",
        "nobody who could be named",
        "so that a backup which is restored is erased again, and a shortened chain is found",
        "for good",
        Erasing.FACT,
    ),
    Kept(
        "Log lines of the server: addresses of pages and moments; no name, no e-mail address, no code",
        "nobody who could be named",
        "to find faults",
        "as long as whoever runs the server keeps them",
        Erasing.NONE,
    ),
    Kept(
        "Backups that whoever runs the server has made",
        "everybody",
        "so that nothing is lost",
        "as long as whoever runs the server keeps them. An old backup still holds who was erased later; when it is "
        "restored, the list of erasures is carried out again",
        Erasing.NONE,
    ),
    Kept(
        "The board as a tablet saw it last, and what waits on it to be sent",
        "who is on the board: numbers, and names as far as they may be shown there",
        "so that a class goes on without a network",
        "until the tablet reaches the server again, or is shut out",
        Erasing.DELETE,
    ),
    Kept(
        "Files that somebody exported or printed",
        "who stands in them",
        "because they asked for them",
        "as long as they keep them: the program cannot reach them",
        Erasing.NONE,
    ),
)
