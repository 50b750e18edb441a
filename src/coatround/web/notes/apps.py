from django.apps import AppConfig


class NotesConfig(AppConfig):
    name = "coatround.web.notes"
    label = "notes"
    default_auto_field = "django.db.models.BigAutoField"
