from django.urls import path

from coatround.web.due import views

app_name = "due"
urlpatterns = [path("", views.page, name="page")]
