"""The skills app: skills and steps, attempts, readiness, sign-offs, months."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class SkillsConfig(AppConfig):
    name = "skills"

    def ready(self) -> None:
        """Have the database's own guards lifted before and re-made after every migration of this app."""
        from gymtrack.lib import guards  # noqa: PLC0415 (needs the models, which are not there before)

        pre_migrate.connect(guards.lift_before_migrate, sender=self)
        post_migrate.connect(guards.install_after_migrate, sender=self)
