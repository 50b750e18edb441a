from django.urls import path

from coatround.web.letters import views

app_name = "letters"
urlpatterns = [path("", views.page, name="list")]
