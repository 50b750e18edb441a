from django.urls import path

from coatround.web.reckon import between_page, figures_page, minutes_page, own_page, views

app_name = "reckon"
urlpatterns = [
    path("", views.page, name="page"),
    path("minutes/", minutes_page.page, name="minutes"),
    path("between-dogs/", between_page.page, name="between-dogs"),
    path("figures/", figures_page.page, name="figures"),
    path("own-day/", own_page.page, name="own-day"),
    path("<slug:name>/", views.reckoner, name="reckoner"),
]
