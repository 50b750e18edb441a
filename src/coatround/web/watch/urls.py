from django.urls import path

from coatround.web.watch import views

app_name = "watch"
urlpatterns = [path("", views.page, name="page"), path("dog/<uuid:pk>/", views.dog, name="dog")]
