from django.urls import path

from coatround.web.books import views

app_name = "books"
urlpatterns = [path("", views.page, name="page")]
