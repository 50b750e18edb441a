from django.apps import AppConfig


class BringingConfig(AppConfig):
    name = "coatround.web.bringing"
    label = "bringing"
    default_auto_field = "django.db.models.BigAutoField"
