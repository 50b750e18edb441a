from django.urls import path

from coatround.web.shelf import views

app_name = "shelf"
urlpatterns = [
    path("", views.page, name="page"),
    path("<uuid:pk>/", views.product, name="product"),
]
