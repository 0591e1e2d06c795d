"""The account: what a person signs in with. It belongs to no gym; memberships do."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.db import models
from django.db.models.functions import Lower

from gymtrack.lib.ids import new_id


class AccountManager(BaseUserManager["Account"]):
    """Makes accounts by e-mail address."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> Account:  # noqa: ANN401 (Django's signature)
        """Return a new stored account; raises ValueError without an address."""
        if not email.strip():
            message = "An account needs an e-mail address."
            raise ValueError(message)
        account = self.model(email=email.strip().lower(), **fields)
        account.set_password(password)
        account.save(using=self._db)
        return account

    def get_by_natural_key(self, username: str | None) -> Account:
        """Find an account by its address, whatever the case."""
        return self.get(email__iexact=username)


class Account(AbstractBaseUser, PermissionsMixin):
    """Somebody who can sign in, by e-mail address and password."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    email = models.EmailField(unique=True)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)
    made_at = models.DateTimeField(auto_now_add=True)

    # Names that its password may not be made of, beside those of the gyms that it belongs to; of a draft alone.
    near_words: tuple[str, ...] = ()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    objects = AccountManager()

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(Lower("email"), name="account_email_any_case")]

    def __str__(self) -> str:
        return self.email
