from django.urls import path

from coatround.web.books import views

app_name = "books"
urlpatterns = [
    path("", views.page, name="page"),
    path("household/<uuid:pk>/", views.household, name="household"),
    path("charge/<uuid:pk>/", views.charge, name="charge"),
    path("payment/<uuid:pk>/", views.payment, name="payment"),
]
