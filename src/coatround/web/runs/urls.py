from django.urls import path

from coatround.web.runs import views

app_name = "runs"
urlpatterns = [path("", views.page, name="today")]
