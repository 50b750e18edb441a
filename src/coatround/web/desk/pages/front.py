"""The desk: the next run in a line, what needs a hand, and in an empty installation what to do next."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from coatround.web.base.firm import firm_today
from coatround.web.desk.front import begun, hands_needed, next_run


def desk(request: HttpRequest) -> HttpResponse:
    today = firm_today()
    context = {"today": today, "run": next_run(today), "begun": begun(), "hands": hands_needed(today)}
    return render(request, "desk/desk.html", context)
