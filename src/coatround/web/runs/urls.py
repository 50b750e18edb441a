from django.urls import path

from coatround.web.runs import drives_page, held_page, lost_page, now_page, views, weather

app_name = "runs"
urlpatterns = [
    path("", views.today, name="today"),
    path("coming/", views.coming, name="coming"),
    path("drives/", drives_page.page, name="drives"),
    path("held/", held_page.page, name="held"),
    path("<uuid:pk>/", views.sheet, name="sheet"),
    path("<uuid:pk>/now/", now_page.page, name="now"),
    path("<uuid:pk>/now/take/", now_page.take, name="take"),
    path("<uuid:pk>/lost/", lost_page.page, name="lost"),
    path("<uuid:pk>/weather/", weather.page, name="weather"),
    path("<uuid:pk>/print/", views.print_page, name="print"),
    path("<uuid:pk>/keys/<uuid:place>/", views.keys, name="keys"),
]
