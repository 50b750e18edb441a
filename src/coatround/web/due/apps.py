from django.apps import AppConfig


class DueConfig(AppConfig):
    name = "coatround.web.due"
    label = "due"
    default_auto_field = "django.db.models.BigAutoField"
