from django.urls import path

from coatround.web.phone import views

app_name = "phone"
urlpatterns = [path("", views.page, name="page")]
