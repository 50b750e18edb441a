from django.urls import path

from coatround.web.visits import views

app_name = "visits"
urlpatterns = [path("", views.page, name="page")]
