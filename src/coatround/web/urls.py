"""Every address of the application; each app names its own."""

from django.urls import include, path

from coatround.web.base import views

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-in/<str:secret>/", views.sign_in_by_link, name="sign-in-link"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("undo/", views.undo, name="undo"),
    path("health", views.health, name="health"),
    path("", include("coatround.web.desk.urls")),
    path("", include("coatround.web.records.urls")),
    path("roads/", include("coatround.web.roads.urls")),
    path("bring-in/", include("coatround.web.bringing.urls")),
    path("due/", include("coatround.web.due.urls")),
    path("round/", include("coatround.web.rounds.urls")),
    path("notes/", include("coatround.web.notes.urls")),
    path("run/", include("coatround.web.runs.urls")),
    path("visits/", include("coatround.web.visits.urls")),
    path("phone/", include("coatround.web.phone.urls")),
    path("letters/", include("coatround.web.letters.urls")),
    path("books/", include("coatround.web.books.urls")),
    path("shelf/", include("coatround.web.shelf.urls")),
    path("watch/", include("coatround.web.watch.urls")),
]
