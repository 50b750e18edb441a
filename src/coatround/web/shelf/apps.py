from django.apps import AppConfig


class ShelfConfig(AppConfig):
    name = "coatround.web.shelf"
    label = "shelf"
    default_auto_field = "django.db.models.BigAutoField"
