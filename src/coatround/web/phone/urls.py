from django.urls import path

from coatround.web.phone import sending
from coatround.web.phone.pages import choosing, door, groom, handing_back, holding, incident, trouble, visit

app_name = "phone"
urlpatterns = [
    path("", visit.page, name="page"),
    path("records", sending.records, name="records"),
    path("photos", sending.photos, name="photos"),
    path("keys-today", holding.keys_today, name="keys-today"),
    path("to-hold", holding.pages_to_hold, name="to-hold"),
    path("no-signal/", holding.no_signal, name="no-signal"),
    path("waiting/", holding.waiting, name="waiting"),
    path("stop/", trouble.stop, name="stop"),
    path("lost/<uuid:dog_id>/", trouble.lost, name="lost"),
    path("labels/", trouble.labels, name="labels"),
    path("visit/<uuid:visit_id>/", visit.visit, name="visit"),
    path("visit/<uuid:visit_id>/door/", door.door, name="door"),
    path("visit/<uuid:visit_id>/dog/<uuid:dog_id>/", groom.groom, name="groom"),
    path("visit/<uuid:visit_id>/handing-back/", handing_back.handing_back, name="handing-back"),
    path("visit/<uuid:visit_id>/openings/", handing_back.openings, name="openings"),
    path("visit/<uuid:visit_id>/incident/", incident.incident, name="incident"),
    path("visit/<uuid:visit_id>/called-off/", visit.called_off, name="called-off"),
    path("visit/<uuid:visit_id>/choose/", choosing.choose, name="choose"),
    path("visit/<uuid:visit_id>/photo/", visit.add_photo, name="add-photo"),
]
