"""Signing in and out, undoing the last change, and the pages for what went wrong."""

from django.contrib import messages
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from coatround.web.base import changes
from coatround.web.base.devices import remember
from coatround.web.base.signing_in import worker_by_link

PASSWORD_BACKEND = "django.contrib.auth.backends.ModelBackend"  # noqa: S105 - the backend's name


def safe_next(request: HttpRequest) -> str:
    """Where to go after signing in: a page of ours, or the desk."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    return wanted if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure()) else "/"


@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    form = AuthenticationForm(request, data=request.POST or None)
    form.fields["username"].label = _("Sign-in name")
    if request.method == "POST" and form.is_valid():
        login(request, form.get_user())
        remember(request)
        return redirect(safe_next(request))
    return render(request, "base/sign-in.html", {"form": form, "next": request.GET.get("next", "")})


@login_not_required
def sign_in_by_link(request: HttpRequest, secret: str) -> HttpResponse:
    """Shows a button first, so that a link looked at by a mail program is not spent."""
    if request.method != "POST":
        return render(request, "base/sign-in-link.html", {"secret": secret})
    worker = worker_by_link(secret)
    if worker is None:
        return render(request, "base/sign-in-link.html", {"over": True}, status=403)
    login(request, worker, backend=PASSWORD_BACKEND)
    remember(request)
    return redirect(safe_next(request))


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("sign-in")


@require_POST
def undo(request: HttpRequest) -> HttpResponse:
    """Undoes the signed-in worker's last change of a record."""
    try:
        undone = changes.undo_last(request.user)  # type: ignore[arg-type]
    except changes.CannotUndo as error:
        messages.error(request, str(error))
    else:
        count = len(undone)
        words = ngettext("Undone: %(count)d change put back.", "Undone: %(count)d changes put back.", count)
        messages.success(request, words % {"count": count})
    return redirect(safe_next(request))


@login_not_required
def health(request: HttpRequest) -> JsonResponse:
    return JsonResponse({"status": "up"})
