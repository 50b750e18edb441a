from django.urls import path

from coatround.web.visits import views

app_name = "visits"
urlpatterns = [
    path("", views.page, name="page"),
    path("<uuid:visit_id>/", views.visit, name="visit"),
    path("photo/<uuid:photo_id>/", views.photo, name="photo"),
]
