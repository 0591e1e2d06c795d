"""The skills app: skills and steps, attempts, readiness, sign-offs, months."""

from typing import Any

from django.apps import AppConfig
from django.core import checks
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
        checks.register(floor_scripts_join)


def floor_scripts_join(**_kwargs: Any) -> list[checks.CheckMessage]:  # noqa: ANN401 (the framework's)
    """System check: the modules of the floor board can be joined into the scripts that a tablet loads."""
    from skills.views.floor import joining_problem  # noqa: PLC0415 (needs the models)

    problem = joining_problem()
    if not problem:
        return []
    hint = "Write the import or export as the other modules do; gymtrack/lib/joining.py says which forms there are."
    return [checks.Error(f"The floor board's scripts cannot be joined: {problem}", hint=hint, id="skills.E001")]
