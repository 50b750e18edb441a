from django.apps import AppConfig


class WatchConfig(AppConfig):
    name = "coatround.web.watch"
    label = "watch"
    default_auto_field = "django.db.models.BigAutoField"
