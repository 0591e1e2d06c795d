"""Who somebody is: the only table with names, and the one that erasure empties."""

from __future__ import annotations

from datetime import date

from django.db import models

from athletes.core.people import age_years, initials
from athletes.models.rows import GymRow
from gymtrack.lib.ids import new_subject


class Person(GymRow):
    """A human being known to one gym, under a random subject id.

    Facts point at the subject through an athlete or a membership and hold no name.
    """

    id = models.UUIDField(primary_key=True, default=new_subject, editable=False)
    full_name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    birth_on = models.DateField(null=True, blank=True)
    notes = models.TextField(blank=True, max_length=2000)
    erased_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.initials

    @property
    def initials(self) -> str:
        """The name's initials, like 'A. L.'; the word that stands for the name of who was erased."""
        return self.full_name if self.erased_at else initials(self.full_name)

    def is_minor(self, on: date, *, adult_age_years: int) -> bool:
        """Whether the person is under age on that day. An unknown birth date counts as a minor's."""
        if self.birth_on is None:
            return True
        return age_years(self.birth_on, on) < adult_age_years


class Remark(GymRow):
    """Free text about a fact (a reason, a note), apart from it so that erasure can empty it.

    `subject` is whom it is about, None where that is nobody. The fact holds `commitment`, a SHA-256 of salt and
    text: with the text it can be proved, without it nothing can be guessed.
    """

    subject = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    about = models.UUIDField(db_index=True)
    text = models.TextField(max_length=2000)
    salt = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"remark about {self.about}"
