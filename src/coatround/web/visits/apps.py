from django.apps import AppConfig


class VisitsConfig(AppConfig):
    name = "coatround.web.visits"
    label = "visits"
    default_auto_field = "django.db.models.BigAutoField"
