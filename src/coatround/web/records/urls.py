from django.urls import path

from coatround.web.records import views

urlpatterns = [path("people/", views.page, name="people"), path("set-up/", views.page, name="set-up")]
