"""Addresses of the front page and of the pages that show one household or dog whole."""

from django.urls import path

from coatround.web.desk.pages import consents, dog, front, household, incidents
from coatround.web.desk.pages import erase as erasing

urlpatterns = [
    path("", front.desk, name="desk"),
    path("people/<uuid:pk>/", household.household, name="household"),
    path("people/<uuid:pk>/consents/", consents.consents, name="consents"),
    path("people/<uuid:pk>/consents/<slug:kind>/", consents.consent_new, name="consent-new"),
    path("people/<uuid:pk>/erase/", erasing.erase, name="erase"),
    path("dog/<uuid:pk>/", dog.dog, name="dog"),
    path("incidents/", incidents.incidents, name="incidents"),
]
