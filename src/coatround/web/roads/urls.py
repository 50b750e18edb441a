from django.urls import path

from coatround.web.roads import page

app_name = "roads"
urlpatterns = [
    path("", page.page, name="page"),
    path("progress/", page.progress, name="progress"),
    path("stop/", page.stop, name="stop"),
]
