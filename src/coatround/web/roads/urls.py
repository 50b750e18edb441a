from django.urls import URLPattern

app_name = "roads"
urlpatterns: list[URLPattern] = []
