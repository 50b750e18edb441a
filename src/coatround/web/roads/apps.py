from django.apps import AppConfig


class RoadsConfig(AppConfig):
    name = "coatround.web.roads"
    label = "roads"
    default_auto_field = "django.db.models.BigAutoField"
