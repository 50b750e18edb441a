"""Every address of the application; each app names its own."""

from django.urls import include, path
from django.views.decorators.cache import cache_control
from django.views.i18n import JavaScriptCatalog

from coatround.web.base import devices, views
from coatround.web.phone.pages import holding

words = cache_control(max_age=31_536_000, private=True)(
    JavaScriptCatalog.as_view(packages=["coatround.web.phone"])
)  # the words of the scripts, translated as all others are

urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-in/<str:secret>/", views.sign_in_by_link, name="sign-in-link"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("set-up/signed-in/", devices.page, name="devices"),
    path("set-up/signed-in/end/", devices.end, name="end-sign-in"),
    path("undo/", views.undo, name="undo"),
    path("health", views.health, name="health"),
    path("sw.js", holding.worker_script, name="service-worker"),
    path("manifest.webmanifest", holding.manifest, name="manifest"),
    path("words/<slug:build>.js", words, name="words"),
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
    path("reckon/", include("coatround.web.reckon.urls")),
]
