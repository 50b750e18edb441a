"""What the addresses for programs answer: one shape for what went well, one for errors, and who may call."""

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.middleware.csrf import CsrfViewMiddleware
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

type View = Callable[[HttpRequest], HttpResponse]


def error(status: int, code: str, words: str) -> JsonResponse:
    """{"error": {"code", "words"}, "server_time"}: the code stays the same, the words are for people."""
    said = {"error": {"code": code, "words": words}, "server_time": timezone.now().isoformat()}
    return JsonResponse(said, status=status)


def for_programs(view: View) -> View:
    """POST only, signed in, with the session's token in the X-CSRFToken header; each refusal is JSON, never a page."""

    @wraps(view)
    def answer(request: HttpRequest) -> HttpResponse:
        if request.method != "POST":
            refused = error(405, "post-only", _("Records are sent with POST."))
            refused["Allow"] = "POST"
            return refused
        if not request.user.is_authenticated:
            words = _("You are not signed in. Sign in again; what is waiting stays on the phone until then.")
            return error(401, "not-signed-in", words)
        if _token_refused(request):
            words = _("The page that sent this is too old. Load it again; what is waiting stays on the phone.")
            return error(403, "no-token", words)
        return view(request)

    # The token is checked above, after the sign-in, so that a stranger is told to sign in.
    return never_cache(csrf_exempt(login_not_required(answer)))


def _token_refused(request: HttpRequest) -> bool:
    def unreached(request: HttpRequest) -> HttpResponseBase:
        return HttpResponse()

    check = CsrfViewMiddleware(unreached)
    check.process_request(request)
    return check.process_view(request, unreached, (), {}) is not None
