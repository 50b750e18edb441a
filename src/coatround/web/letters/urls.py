from django.urls import path

from coatround.web.letters import views

app_name = "letters"
urlpatterns = [
    path("", views.page, name="list"),
    path("open/<str:signed>/", views.opened, name="open"),
    path("open/<str:signed>/pdf/", views.opened_pdf, name="open-pdf"),
    path("<uuid:pk>/", views.letter, name="letter"),
    path("<uuid:pk>/pdf/", views.pdf, name="pdf"),
    path("<uuid:pk>/words/<int:number>/", views.words, name="words"),
    path("<uuid:pk>/more/", views.more, name="more"),
    path("<uuid:pk>/<slug:act>/", views.act, name="act"),
]
