from django.urls import path

from coatround.web.rounds import by_hand, caller_page, gap_page, rush_page, telling, views, what_if, what_if_so

app_name = "round"
urlpatterns = [
    path("", views.page, name="page"),
    path("caller/", caller_page.caller, name="caller"),
    path("caller/<uuid:pk>/", caller_page.openings, name="caller-openings"),
    path("caller/<uuid:pk>/taken/", caller_page.taken, name="caller-taken"),
    path("caller/<uuid:pk>/wait/", caller_page.wait, name="caller-wait"),
    path("rush/", rush_page.page, name="rush"),
    path("rush/<uuid:pk>/drop/", rush_page.drop, name="rush-drop"),
    path("rush/waits/<uuid:pk>/gone/", rush_page.no_longer, name="no-longer"),
    path("what-if/", what_if.page, name="what-ifs"),
    path("what-if/<uuid:pk>/take/", what_if_so.take, name="what-if-take"),
    path("what-if/<uuid:pk>/drop/", what_if.drop, name="what-if-drop"),
    path("plan/", views.plan, name="plan"),
    path("proposal/<uuid:pk>/progress/", views.progress, name="progress"),
    path("proposal/<uuid:pk>/stop/", views.stop, name="stop"),
    path("proposal/<uuid:pk>/drop/", views.drop, name="drop"),
    path("proposal/<uuid:pk>/accept/", views.accept, name="accept"),
    path("proposal/<uuid:pk>/why/<str:visit>/", by_hand.why_proposed, name="why-proposed"),
    path("proposal/<uuid:pk>/move/<str:visit>/", by_hand.move_proposed, name="move-proposed"),
    path("proposal/<uuid:pk>/pin/<str:visit>/", by_hand.pin_proposed, name="pin-proposed"),
    path("visit/<uuid:pk>/", telling.page, name="visit"),
    path("visit/<uuid:pk>/gap/", gap_page.page, name="gap"),
    path("visit/<uuid:pk>/why/", by_hand.why, name="why"),
    path("visit/<uuid:pk>/move/", by_hand.move, name="move"),
    path("visit/<uuid:pk>/pin/", by_hand.pin, name="pin"),
    path("visit/<uuid:pk>/tell/", telling.tell, name="tell"),
    path("visit/<uuid:pk>/answer/", telling.answer, name="answer"),
    path("visit/<uuid:pk>/call-off/", telling.call_off, name="call-off"),
]
