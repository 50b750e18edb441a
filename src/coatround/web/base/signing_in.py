"""Links that sign a worker in once; only the hash of a link is kept."""

import datetime as dt
import hashlib
import secrets

from django.utils import timezone

from coatround.web.base.models import SignInLink, Worker
from coatround.web.base.writing import writing

LINK_HOURS = 12


def new_sign_in_link(worker: Worker, hours: int = LINK_HOURS) -> str:
    """Makes a link's secret part for a worker; it works once, for so many hours."""
    secret = secrets.token_urlsafe(24)
    with writing():
        SignInLink.objects.create(
            worker=worker, digest=digest_of(secret), ends_at=timezone.now() + dt.timedelta(hours=hours)
        )
    return secret


def worker_by_link(secret: str) -> Worker | None:
    """The worker whom a link signs in, spending the link; None when it is unknown, used or over."""
    with writing():
        link = SignInLink.objects.select_related("worker").filter(digest=digest_of(secret)).first()
        if link is None or link.used_at or link.ends_at < timezone.now() or not link.worker.is_active:
            return None
        link.used_at = timezone.now()
        link.save(update_fields=["used_at"])
        return link.worker


def digest_of(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
