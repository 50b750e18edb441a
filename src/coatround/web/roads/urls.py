from django.urls import path

from coatround.web.roads import page, views

app_name = "roads"
urlpatterns = [
    path("", page.page, name="page"),
    path("progress/", page.progress, name="progress"),
    path("stop/", page.stop, name="stop"),
    path("find/", views.find, name="find"),
    path("streets/<str:stamp>/<int:z>/<int:x>/<int:y>.svg", views.streets, name="streets"),
]
