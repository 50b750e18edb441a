from django.apps import AppConfig


class PhoneConfig(AppConfig):
    name = "coatround.web.phone"
    label = "phone"
    default_auto_field = "django.db.models.BigAutoField"
