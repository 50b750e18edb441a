from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "coatround.web.desk"
    label = "desk"
    default_auto_field = "django.db.models.BigAutoField"
