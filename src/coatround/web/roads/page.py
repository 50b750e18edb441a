"""The roads page: which roads are in use, handing over an extract, and how far its building has come."""

import os
import shutil
import subprocess
import sys
import uuid
from pathlib import Path
from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from coatround.roads.extract import BadExtract, check_kind
from coatround.roads.in_use import HANDED_OVER, ROADS, roads_in_use
from coatround.roads.progress import ask_to_stop, clear_progress, read_progress, write_progress
from coatround.web.base.forms import Page


class HandOver(Page):
    """An extract to add."""

    file = forms.FileField(
        label=gettext_lazy("Extract of your region"),
        help_text=gettext_lazy("A file that ends in .osm.pbf, from any place that gives OpenStreetMap data."),
        widget=forms.ClearableFileInput(attrs={"accept": ".pbf"}),
    )
    anyway = forms.BooleanField(
        label=gettext_lazy("Take it though most addresses lie elsewhere, or it holds two regions"), required=False
    )


@never_cache
def page(request: HttpRequest) -> HttpResponse:
    """What is in use and how old it is; an extract handed over is built in a process of its own."""
    adding = read_progress(settings.HOME)
    form = HandOver(request.POST, request.FILES) if request.method == "POST" else HandOver()
    if adding is not None and adding.is_running and form.is_bound:
        messages.error(request, _("An extract is being built already. Stop it first, or wait until it is in use."))
        return redirect("roads:page")
    if form.is_bound and form.is_valid():
        try:
            _start(form.cleaned_data["file"], anyway=form.cleaned_data["anyway"])
            return redirect("roads:page")
        except BadExtract as error:
            form.add_error("file", str(error))
        except OSError as error:
            form.add_error("file", _("The file could not be kept: %(why)s. Is there room?") % {"why": error.strerror})
    return render(request, "roads/page.html", {"form": form, **_context()}, status=422 if form.is_bound else 200)


@never_cache
@require_safe
def progress(request: HttpRequest) -> HttpResponse:
    """How far the building has come, as a part of the page; the whole page once it is over."""
    adding = read_progress(settings.HOME)
    if adding is None or not adding.is_running:
        answer = HttpResponse()
        answer["HX-Refresh"] = "true"
        return answer
    return render(request, "roads/progress.html", {"adding": adding})


@require_POST
def stop(request: HttpRequest) -> HttpResponse:
    """Asks the building to stop; the roads in use stay as they are."""
    ask_to_stop(settings.HOME)
    messages.success(request, _("Asked it to stop. The roads in use stay as they are."))
    return redirect("roads:page")


def _context() -> dict[str, object]:
    adding = read_progress(settings.HOME)  # first, so that a building that is over by now is seen with its roads
    roads = roads_in_use(settings.HOME)
    if roads is None:
        return {"roads": None, "adding": adding}
    return {
        "roads": roads.about,
        "adding": adding,
        "added_at": parse_datetime(roads.about.added_at),
        "data_from": parse_datetime(roads.about.data_from) if roads.about.data_from else None,
        "is_left": roads.about.drives_on == "left",
    }


def _start(file: "UploadedFile[Any]", *, anyway: bool) -> None:
    """Keeps the file that was handed over and builds its roads in a process of its own."""
    folder = settings.HOME / ROADS / HANDED_OVER / uuid.uuid4().hex
    folder.mkdir(parents=True, mode=0o700)
    kept = folder / (Path(file.name or "").name or "extract.osm.pbf")
    try:
        with kept.open("wb") as out:
            shutil.copyfileobj(file, out, 1 << 20)
        check_kind(kept)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    clear_progress(settings.HOME)
    write_progress(settings.HOME, kept.name, "building", 0, _("Starting."))
    subprocess.Popen(  # noqa: S603 - our own command with the file that was just kept
        [sys.executable, "-m", "coatround", "roads", "add", *(["--anyway"] if anyway else []), "--", str(kept)],
        env=os.environ | {"COATROUND_HOME": str(settings.HOME), "PYTHONPATH": os.pathsep.join(sys.path)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
