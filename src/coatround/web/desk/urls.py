from django.urls import path

from coatround.web.desk import views

urlpatterns = [path("", views.page, name="desk")]
