from django.urls import path

from coatround.web.rounds import telling, views

app_name = "round"
urlpatterns = [
    path("", views.page, name="page"),
    path("plan/", views.plan, name="plan"),
    path("proposal/<uuid:pk>/progress/", views.progress, name="progress"),
    path("proposal/<uuid:pk>/stop/", views.stop, name="stop"),
    path("proposal/<uuid:pk>/drop/", views.drop, name="drop"),
    path("proposal/<uuid:pk>/accept/", views.accept, name="accept"),
    path("visit/<uuid:pk>/", telling.page, name="visit"),
    path("visit/<uuid:pk>/tell/", telling.tell, name="tell"),
    path("visit/<uuid:pk>/answer/", telling.answer, name="answer"),
    path("visit/<uuid:pk>/call-off/", telling.call_off, name="call-off"),
]
