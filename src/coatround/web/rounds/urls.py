from django.urls import path

from coatround.web.rounds import views

app_name = "round"
urlpatterns = [path("", views.page, name="page")]
