from django.urls import path

from coatround.web.phone import sending, views

app_name = "phone"
urlpatterns = [
    path("", views.page, name="page"),
    path("records", sending.records, name="records"),
    path("photos", sending.photos, name="photos"),
]
