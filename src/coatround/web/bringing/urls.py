from django.urls import path

from coatround.web.bringing import views

app_name = "bringing"
urlpatterns = [
    path("", views.page, name="page"),
    path("<uuid:pk>/", views.preview, name="preview"),
    path("<uuid:pk>/done/", views.done, name="done"),
    path("<uuid:pk>/refused/", views.refused, name="refused"),
    path("<uuid:pk>/leave/", views.leave, name="leave"),
]
