"""The process that plans: `python -m coatround.web.rounds.planning PROPOSAL_ID`, with COATROUND_HOME set."""

import contextlib
import signal
import sys
import threading
import uuid
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coatround.web.rounds.propose import Pulse

BEAT_SECONDS = 1.0


def main(argv: Sequence[str] | None = None) -> int:
    """Plans one proposal; 0 when a plan was kept, 1 when none could be made, 2 when there is no such proposal."""
    from coatround.start import use_home

    use_home(None)
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        id_ = uuid.UUID(words[0])
    except (IndexError, ValueError):
        print("planning: give the id of one proposal.", file=sys.stderr)
        return 2
    from django.db import DatabaseError

    try:
        return _plan(id_)
    except DatabaseError as error:
        print(f"planning: nothing can be kept: {error}. Is there room on the disk?", file=sys.stderr)
        return 1


def _plan(id_: uuid.UUID) -> int:
    from coatround.web.rounds.gather import CannotPlan
    from coatround.web.rounds.models import Proposal
    from coatround.web.rounds.propose import Pulse, plan_into

    proposal = Proposal.objects.filter(pk=id_, state="waiting").first()
    if proposal is None:
        print(f"planning: no proposal {id_} waits to be planned.", file=sys.stderr)
        return 2
    pulse, over = Pulse(seconds=proposal.seconds), threading.Event()
    stops = (signal.SIGINT, signal.SIGTERM)  # asked to end: the best so far is kept
    before = [signal.signal(number, lambda *_: pulse.asked.set()) for number in stops]
    beating = threading.Thread(target=_beat, args=(id_, pulse, over), daemon=True)
    beating.start()
    try:
        plan_into(proposal, pulse)
    except CannotPlan as error:
        print(f"planning: {error}", file=sys.stderr)
        return 1
    finally:
        over.set()
        beating.join(timeout=5)
        for number, handler in zip(stops, before, strict=True):
            signal.signal(number, handler)
    return 0


def _beat(id_: uuid.UUID, pulse: "Pulse", over: threading.Event) -> None:
    """Once a second: writes how far it has come, and hears whether someone asks it to stop."""
    from django.db import DatabaseError, connection

    try:
        while not over.wait(BEAT_SECONDS):
            with contextlib.suppress(DatabaseError):  # a disk that is full now may have room in a second
                beat_once(id_, pulse)
    finally:
        connection.close()


def beat_once(id_: uuid.UUID, pulse: "Pulse") -> None:
    """Writes the progress of one planning; a proposal that was dropped meanwhile is not planned to its end."""
    from django.utils import timezone
    from django.utils.translation import gettext as _

    from coatround.web.base.firm import the_firm
    from coatround.web.base.money import money_text
    from coatround.web.base.writing import writing
    from coatround.web.rounds.models import Proposal

    words = _("Gathering what is due.")
    if pulse.done:
        words = _("%(count)d rounds tried.") % {"count": pulse.done}
    if pulse.cents is not None:
        words = _("%(count)d rounds tried; the best costs %(money)s with driving, overtime and what is left out.") % {
            "count": pulse.done,
            "money": money_text(pulse.cents, the_firm()),
        }
    with writing():
        alive = Proposal.objects.filter(pk=id_, state__in=("waiting", "planning"))
        if not alive.update(heard_at=timezone.now(), progress_percent=pulse.percent, progress_words=words[:200]):
            pulse.asked.set()
    if Proposal.objects.filter(pk=id_, stop_asked=True).exists():
        pulse.asked.set()


if __name__ == "__main__":
    sys.exit(main())
