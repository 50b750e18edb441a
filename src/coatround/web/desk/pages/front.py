"""The desk: the next run in a line, what needs a hand, and in an empty installation what to do next."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from coatround.web.base.firm import firm_today, the_firm
from coatround.web.desk.front import begun, hands_needed, next_run
from coatround.web.records.pages.asking import worker_of
from coatround.web.runs.queries import run_sheet
from coatround.web.runs.strip import ribbons


def desk(request: HttpRequest) -> HttpResponse:
    firm = the_firm()
    today = firm_today(firm)
    run = next_run(today, worker_of(request))
    context: dict[str, object] = {"today": today, "run": run, "begun": begun(), "hands": hands_needed(today)}
    if run is not None:
        sheet = run_sheet(run.pk, None, firm)
        context["visit_count"] = len(sheet.visits)
        context["ribbon_phone"], context["ribbon_desk"] = ribbons(sheet)
    return render(request, "desk/desk.html", context)
