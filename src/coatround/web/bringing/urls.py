from django.urls import path

from coatround.web.bringing import views

app_name = "bringing"
urlpatterns = [path("", views.page, name="page")]
