"""Who is signed in where, and signing a lost phone out: its session ends, and it drops the pages that it holds."""

import datetime as dt
import hashlib
from dataclasses import dataclass

from django.contrib import messages
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from coatround.web.base.models import Worker
from coatround.web.base.writing import writing

AGENT_LETTERS = 160
KINDS = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"), ("Mac OS", "Mac"))


@dataclass(frozen=True)
class SignedIn:
    """One sign-in that lasts: whose, since when, on what, and a name for it that says nothing of its key."""

    name: str
    worker: Worker
    device: str
    since: dt.datetime | None
    is_this: bool


def remember(request: HttpRequest) -> None:
    """Writes down with a new sign-in since when it lasts and on what, to be told apart from others."""
    request.session["since"] = timezone.now().isoformat()
    request.session["agent"] = request.headers.get("User-Agent", "")[:AGENT_LETTERS]


def name_of(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()[:16]


def signed_in(request: HttpRequest) -> list[SignedIn]:
    """Every sign-in that lasts, the latest first."""
    workers = {str(worker.pk): worker for worker in Worker.objects.all()}
    found = []
    for session in Session.objects.filter(expire_date__gt=timezone.now()):
        said = session.get_decoded()
        worker = workers.get(said.get(SESSION_KEY, ""))
        if worker is None:
            continue
        since = parse_datetime(said.get("since", "")) if said.get("since") else None
        is_this = session.session_key == request.session.session_key
        device = device_words(said.get("agent", ""))
        found.append(SignedIn(name_of(session.session_key), worker, device, since, is_this))
    never = dt.datetime.min.replace(tzinfo=dt.UTC)
    return sorted(found, key=lambda one: one.since or never, reverse=True)


def device_words(agent: str) -> str:
    """What a browser says it runs on, in a word."""
    return next((words for mark, words in KINDS if mark in agent), _("another device"))


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Who is signed in where."""
    return render(request, "base/devices.html", {"signed_in": signed_in(request)})


@require_POST
def end(request: HttpRequest) -> HttpResponse:
    """Ends one sign-in; what its phone recorded stays there and is sent after signing in again."""
    wanted = request.POST.get("name", "")
    with writing():
        keys = [key for key in Session.objects.values_list("session_key", flat=True) if name_of(key) == wanted]
        Session.objects.filter(session_key__in=keys).delete()
    if keys:
        messages.success(request, _("Signed out. It drops the pages it holds as soon as it reaches the server."))
    else:
        messages.error(request, _("That sign-in is over already."))
    return redirect("devices")
