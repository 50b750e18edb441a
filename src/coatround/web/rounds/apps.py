from django.apps import AppConfig


class RoundsConfig(AppConfig):
    name = "coatround.web.rounds"
    label = "rounds"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from coatround.web.base import changes
        from coatround.web.rounds import acts

        changes.UNDO_GUARDS.append(acts.refuse_after_work)
        changes.AFTER_UNDO.append(acts.version_after_undo)
