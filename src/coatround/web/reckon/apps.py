from django.apps import AppConfig


class ReckonConfig(AppConfig):
    name = "coatround.web.reckon"
    label = "reckon"
    default_auto_field = "django.db.models.BigAutoField"
