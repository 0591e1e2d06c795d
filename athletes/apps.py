"""The athletes app: gyms, people, roles, cautions, the audit chain."""

from django.apps import AppConfig
from django.core import checks
from django.db.models.signals import post_migrate, pre_migrate


class AthletesConfig(AppConfig):
    name = "athletes"

    def ready(self) -> None:
        """Have the database's own guards lifted before and re-made after every migration of this app."""
        from athletes.access.passwords import leak_file_is_there  # noqa: PLC0415 (the same)
        from athletes.access.second_factor import watch_recovery_codes  # noqa: PLC0415 (the same)
        from athletes.access.security_log import listen  # noqa: PLC0415 (the same)
        from athletes.access.session_limits import watch_sign_ins  # noqa: PLC0415 (the same)
        from athletes.services.erasure_list import erasures_stand  # noqa: PLC0415 (the same)
        from athletes.services.reclaiming import watch_resets  # noqa: PLC0415 (the same)
        from gymtrack.lib import guards  # noqa: PLC0415 (needs the models, which are not there before)

        pre_migrate.connect(guards.lift_before_migrate, sender=self)
        post_migrate.connect(guards.install_after_migrate, sender=self)
        checks.register(guards.guards_stand, checks.Tags.database)
        checks.register(erasures_stand, checks.Tags.database)
        checks.register(leak_file_is_there)
        watch_sign_ins()
        watch_recovery_codes()
        watch_resets()
        listen()
