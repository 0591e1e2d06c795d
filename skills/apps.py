"""The skills app: skills and steps, attempts, readiness, sign-offs, months."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class SkillsConfig(AppConfig):
    name = "skills"

    def ready(self) -> None:
        """Tell what is taught; have the database's own guards lifted before and re-made after every migration."""
        from athletes.queries.taught import taught_as_told_by  # noqa: PLC0415 (needs the models)
        from gymtrack.lib import guards  # noqa: PLC0415 (needs the models, which are not there before)
        from skills.queries.teaching import skill_names  # noqa: PLC0415 (needs the models)

        taught_as_told_by(skill_names)

        pre_migrate.connect(guards.lift_before_migrate, sender=self)
        post_migrate.connect(guards.install_after_migrate, sender=self)
