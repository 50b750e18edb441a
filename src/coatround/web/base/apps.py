from django.apps import AppConfig


class BaseConfig(AppConfig):
    name = "coatround.web.base"
    label = "base"
    default_auto_field = "django.db.models.BigAutoField"
