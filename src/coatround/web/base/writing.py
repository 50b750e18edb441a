"""One write transaction at a time in this process: short waits instead of SQLite's busy retries."""

import contextlib
import threading
from collections.abc import Iterator

from django.db import transaction

_LOCK = threading.RLock()


@contextlib.contextmanager
def writing() -> Iterator[None]:
    """A transaction that writes; every public function of an actions module opens one."""
    with _LOCK, transaction.atomic():
        yield
