from typing import Any

from django.apps import AppConfig
from django.core.checks import Tags, register
from django.core.signals import request_finished, request_started
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate, pre_migrate


class MaintenanceConfig(AppConfig):
    name = "maintenance"
    verbose_name = "Idle Years"

    def ready(self) -> None:
        """Load the catalogue now, so that a bad row stops the start and not the first request.

        And have every connection told what is in sight.
        """
        from maintenance.catalogue.load import catalogue
        from maintenance.checks import second_lock_holds
        from maintenance.queries import second_lock

        catalogue()
        connection_created.connect(second_lock.tell_new_connection)
        request_started.connect(second_lock.see_nothing)
        request_finished.connect(second_lock.see_nothing)
        register(second_lock_holds, Tags.database, deploy=True)
        pre_migrate.connect(_set_triggers_aside, sender=self)
        post_migrate.connect(_keep_triggers, sender=self)


def _set_triggers_aside(using: str, **told: Any) -> None:
    from maintenance.models.change_triggers import set_triggers_aside

    if told.get("plan"):
        set_triggers_aside(using)


def _keep_triggers(using: str, **told: Any) -> None:
    from maintenance.models.change_triggers import keep_triggers

    # Emptying the tables says the same without a plan, and leaves the triggers as they are.
    if "plan" in told:
        keep_triggers(using)
