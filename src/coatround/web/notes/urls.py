from django.urls import path

from coatround.web.notes import views

app_name = "notes"
urlpatterns = [
    path("", views.page, name="page"),
    path("<uuid:pk>/", views.settled, name="settled"),
]
