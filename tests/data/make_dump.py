"""Makes the dump of this version that is kept for ever: `python -m tests.data.make_dump OUT.jsonl`.

A small invented town, its last months only, planned for four weeks, with one visit recorded through the application
itself, so that every table holds something. Run once a version, before it is given out; a dump is never made again.
"""

import datetime as dt
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

DOGS = 8
KEPT_DAYS = 75
TODAY = dt.date(2026, 11, 25)


def main() -> int:
    out = Path(sys.argv[1])
    if out.exists():
        print(f"{out} is there already; a dump is never made again.", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as folder:
        from coatround.demo_command import demo_main

        os.environ.pop("COATROUND_DATABASE", None)
        words = ["--home", folder, "--no-serve", "--today", TODAY.isoformat(), "--dogs", str(DOGS)]
        if demo_main(words):
            return 1
        os.environ["COATROUND_TODAY"] = TODAY.isoformat()
        _trim()
        _use()
        _write(out)
    return 0


def _trim() -> None:
    """Takes out what is older than some weeks."""
    from coatround.web.books.models import Charge, Payment
    from coatround.web.letters.models import Letter
    from coatround.web.rounds.models import Run
    from coatround.web.shelf.models import Movement
    from coatround.web.visits.models import Fit, Groom, HandingBack, Visit

    first = TODAY - dt.timedelta(days=KEPT_DAYS)
    Run.objects.filter(date__lt=first).delete()
    old = set(Visit.objects.filter(date__lt=first).values_list("pk", flat=True))
    for model in (Charge, Payment, Letter, Movement):
        model._default_manager.filter(date__lt=first).delete()
    Groom.objects.filter(date__lt=first).delete()
    for fact in (Fit, HandingBack):
        fact._default_manager.filter(visit__in=old).delete()
    Visit.objects.filter(pk__in=old).delete()


def _use() -> None:
    """Records one visit, changes a dog, looks at a key, keeps a photo: the tables that a fresh town leaves empty."""
    from django.utils import timezone

    from coatround.web.base import changes
    from coatround.web.base.models import Worker
    from coatround.web.flow import accept_records
    from coatround.web.records.models import Caution, Dog, KeyLook, Place, PlaceKey
    from coatround.web.visits.models import Photo, Visit

    groomer = Worker.objects.order_by("made_at")[0]
    visit = Visit.objects.filter(date__gte=TODAY - dt.timedelta(days=2), stops__isnull=False).order_by("date", "pk")[0]
    dog = visit.dogs.order_by("pk")[0]
    answers = accept_records(_said(str(visit.pk), str(dog.pk)), groomer, "the groomer's phone", now=timezone.now())
    refused = [answer for answer in answers if answer.status != "accepted"]
    if refused:
        raise RuntimeError(f"a record was refused: {refused}")
    dog = Dog.objects.get(pk=dog.pk)
    dog.notes = "Sits for cheese."
    changes.save(dog, groomer)
    caution = Caution(dog=dog, kind="eyes", words="Left eye waters: no foam near it.")
    changes.save(caution, groomer)
    place = Place.objects.filter(household__isnull=False).order_by("pk")[0]
    key = PlaceKey.objects.create(place=place, words="Gate code 0000")
    KeyLook.objects.create(key=key, who=groomer, run_date=TODAY)
    Photo.objects.create(sha256="0" * 64, bytes=1, width=1, height=1, dog=dog, visit=visit.pk, who=groomer)


def _said(visit: str, dog: str) -> list[dict[str, Any]]:
    from coatround.ids import uuid7

    at = dt.datetime.combine(TODAY, dt.time(1), dt.UTC)
    bodies: list[tuple[str, dict[str, Any]]] = [
        ("fit", {"dog": dog, "answer": "go", "signs": []}),
        (
            "groom",
            {
                "dog": dog,
                "usual_done": True,
                "work_seconds": 3900,
                "cotton": {"in": 2, "taken_out": 2},
                "findings": [{"part": "left ear", "kind": "smell", "grade": 1}],
                "measures": {"weight_grams": 14200, "left_ear": 1},
            },
        ),
        (
            "incident",
            {"dog": dog, "kind": "nick", "happened_at": at.isoformat(), "words": "ear edge", "owner_told": True},
        ),
        (
            "handing-back",
            {"price_cents": 9000, "paid": "card", "paid_cents": 9000, "next": {"how": "usual", "date": "2027-01-06"}},
        ),
    ]
    return [
        {"id": str(uuid7()), "kind": kind, "version": 1, "said_at": at.isoformat(), "visit": visit, "body": body}
        for kind, body in bodies
    ]


def _write(out: Path) -> None:
    from coatround import __version__
    from tests.data.dump import lines, our_models

    empty = [model._meta.label for model in our_models() if not model._default_manager.exists()]
    if empty:
        raise RuntimeError(f"these tables are empty: {', '.join(empty)}; let this script put something in")
    out.write_text("".join(f"{line}\n" for line in lines(__version__)), encoding="utf-8")
    print(f"{out}: {out.stat().st_size // 1000} kB")


if __name__ == "__main__":
    sys.exit(main())
