from django.apps import AppConfig


class BooksConfig(AppConfig):
    name = "coatround.web.books"
    label = "books"
    default_auto_field = "django.db.models.BigAutoField"
