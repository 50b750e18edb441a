from django.urls import path

from coatround.web.phone import sending
from coatround.web.phone.pages import door, groom, handing_back, incident, visit

app_name = "phone"
urlpatterns = [
    path("", visit.page, name="page"),
    path("records", sending.records, name="records"),
    path("photos", sending.photos, name="photos"),
    path("visit/<uuid:visit_id>/", visit.visit, name="visit"),
    path("visit/<uuid:visit_id>/door/", door.door, name="door"),
    path("visit/<uuid:visit_id>/door/<uuid:dog_id>/", door.door_answer, name="door-answer"),
    path("visit/<uuid:visit_id>/dog/<uuid:dog_id>/", groom.groom, name="groom"),
    path("visit/<uuid:visit_id>/handing-back/", handing_back.handing_back, name="handing-back"),
    path("visit/<uuid:visit_id>/openings/", handing_back.openings, name="openings"),
    path("visit/<uuid:visit_id>/incident/", incident.incident, name="incident"),
    path("visit/<uuid:visit_id>/called-off/", visit.called_off, name="called-off"),
    path("visit/<uuid:visit_id>/photo/", visit.add_photo, name="add-photo"),
]
