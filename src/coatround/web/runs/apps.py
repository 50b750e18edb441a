from django.apps import AppConfig


class RunsConfig(AppConfig):
    name = "coatround.web.runs"
    label = "runs"
    default_auto_field = "django.db.models.BigAutoField"
