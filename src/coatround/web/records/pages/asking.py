"""Pages that ask for one thing: a form that keeps what was typed, saves once, and leads back."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import Promise

from coatround.web.base.models import Worker


def worker_of(request: HttpRequest) -> Worker:
    """The one who is signed in; every page of this room needs it."""
    worker = request.user
    if not isinstance(worker, Worker):
        raise TypeError(f"nobody is signed in: {worker!r}")
    return worker


def typed_in(request: HttpRequest) -> Any:
    """What was typed, or nothing on a first look."""
    return request.POST if request.method == "POST" else None


def ask(
    request: HttpRequest,
    form: forms.BaseForm,
    *,
    title: str | Promise,
    back: str,
    save: Callable[[], object],
    lead: str | Promise = "",
    template: str = "records/ask.html",
    **more: Any,
) -> HttpResponse:
    """Shows a form until it is right; then saves it and goes back."""
    if request.method == "POST" and form.is_valid():
        save()
        return redirect(back)
    context = {"form": form, "title": title, "lead": lead, "back": back, **more}
    return render(request, template, context, status=422 if form.is_bound else 200)
