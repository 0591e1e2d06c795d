"""What an import would do, before anything is stored."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from time import perf_counter

import pytest

from athletes.core.roster import RosterEntry, RosterLine
from athletes.core.roster_plan import MOST_RESEMBLANCES, RosterPlan, Somebody, merged, plan_of

BORN = date(2011, 5, 30)
ZOE = Somebody(RosterEntry("Zoë Berg", BORN, email="berg@home.example"), number=4)


def planned(*entries: RosterEntry, roster: tuple[Somebody, ...] = (ZOE,)) -> RosterPlan:
    return plan_of([RosterLine(line, entry) for line, entry in enumerate(entries, start=2)], roster)


def told(plan: RosterPlan) -> list[tuple[int, int, int, tuple[str, ...]]]:
    """Each resemblance: the line, the athlete's number, the other line, in what."""
    return [
        (each.line.line, like.who.number, like.who.line, like.reasons)
        for each in plan.doubtful
        for like in each.resembles
    ]


@pytest.mark.parametrize(
    ("entry", "reasons"),
    [
        (RosterEntry("Zoë Berg", date(2011, 5, 31)), ("name",)),
        (RosterEntry("Zoë Berg"), ("name",)),
        (RosterEntry("Berg, Zoe", date(1990, 1, 1)), ("name",)),
        (RosterEntry("ZOE BERG", BORN), ("name",)),
        (RosterEntry("Zoé Bergg", BORN), ("similar",)),
        (RosterEntry("Zoe Brg", BORN), ("similar",)),
        (RosterEntry("Mia Okafor", email="Berg@Home.example"), ("email",)),
        (RosterEntry("Zoe Berk", BORN, email="berg@home.example"), ("email", "similar")),
    ],
    ids=["other day", "no day", "swapped", "no accent", "slip", "letter gone", "address", "two reasons"],
)
def test_who_resembles_somebody_waits_for_a_word(entry, reasons):
    plan = planned(entry)
    assert told(plan) == [(2, 4, 0, reasons)]
    assert (plan.added, plan.known) == ((), ())


@pytest.mark.parametrize(
    "entry",
    [
        RosterEntry("Zoë Borg", date(2011, 5, 31)),
        RosterEntry("Mia Okafor", BORN),
        RosterEntry("Zoe Bergström", BORN),
        RosterEntry("—", BORN),
    ],
    ids=["similar, other day", "same day, other name", "three letters more", "no letters"],
)
def test_who_resembles_nobody_would_be_added(entry):
    plan = planned(entry)
    assert [line.entry for line in plan.added] == [entry]
    assert plan.doubtful == ()


def test_who_stands_there_already_is_known_and_nothing_is_to_be_done():
    plan = planned(RosterEntry("zoë  BERG", BORN, email="new@home.example"))
    assert [(each.line.line, each.who) for each in plan.known] == [(2, ZOE)]
    assert not plan.changes


def test_two_lines_of_one_file_that_may_be_one_person_are_told():
    plan = planned(RosterEntry("Ida Roth", BORN), RosterEntry("Roth, Ida"), RosterEntry("Ida Rot", BORN), roster=())
    assert told(plan) == [(3, 0, 2, ("name",)), (4, 0, 2, ("similar",))]


def test_a_family_shares_an_address_within_a_file():
    shared = "roth@home.example"
    plan = planned(RosterEntry("Ida Roth", BORN, email=shared), RosterEntry("Per Roth", email=shared), roster=())
    assert len(plan.added) == 2


def test_a_line_names_a_few_whom_it_resembles_the_roster_first():
    many = tuple(Somebody(RosterEntry("Zoë Berg", date(2000 + n, 1, 1)), number=n) for n in range(1, 10))
    plan = planned(RosterEntry("Zoë Berg"), roster=many)
    assert [like.who.number for like in plan.doubtful[0].resembles] == [*range(1, MOST_RESEMBLANCES + 1)]


def test_the_digest_tells_every_difference():
    entry = RosterEntry("Zoë Berg", date(2011, 5, 31), Decimal("1.52"))
    base = planned(entry)
    others = [
        planned(replace(entry, notes="new")),
        planned(replace(entry, stature_m=Decimal("1.53"))),
        planned(entry, roster=(replace(ZOE, number=5),)),
        planned(entry, roster=(replace(ZOE, has_left=True),)),
        planned(entry, roster=(replace(ZOE, entry=replace(ZOE.entry, notes="new")),)),
        planned(entry, roster=()),
        plan_of([RosterLine(3, entry)], (ZOE,)),
    ]
    assert planned(entry).digest == base.digest
    assert len({base.digest, *(other.digest for other in others)}) == 1 + len(others)


def test_new_details_leave_what_they_do_not_say():
    known = RosterEntry("Zoë Berg", BORN, Decimal("1.50"), Decimal(40), "berg@home.example", "left-handed")
    assert merged(known, RosterEntry("Zoe Berg", stature_m=Decimal("1.52"))) == RosterEntry(
        "Zoe Berg", BORN, Decimal("1.52"), None, "berg@home.example", "left-handed"
    )
    new = RosterEntry("Zoe Berg", date(2011, 5, 31), None, None, "zoe@home.example", "right-handed")
    assert merged(known, new) == new


@pytest.mark.parametrize("born", [date(2000, 1, 1), None], ids=["all on one day", "no day known"])
def test_a_large_file_of_people_who_are_hard_to_tell_apart_is_planned_in_seconds(born):
    """Everybody born on one day, a third of the names a letter apart: each is not held against each."""
    firsts = [f"{a}{b}{c}" for a in "bcdfghjklmnpq" for b in "aeiouy" for c in "bcdfghjklmnpqrst"]
    entries = [
        RosterEntry(f"{first} {last}", born) for last in ("berg", "roth", "falkensteiner", "okafor") for first in firsts
    ]
    roster = tuple(
        Somebody(replace(entry, full_name=f"{entry.full_name}x"), number=n) for n, entry in enumerate(entries, 1)
    )
    started = perf_counter()
    plan = planned(*entries[:5000], roster=roster)
    assert perf_counter() - started < 20
    assert len(plan.doubtful) + len(plan.added) == len(entries[:5000])
