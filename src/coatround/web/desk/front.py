"""What the front page says: counted in a few queries, each line with the page where it is seen to."""

import datetime as dt
from dataclasses import dataclass

from django.core.cache import cache
from django.db.models import Case, Count, Exists, Model, Q, Value, When
from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.web.base.models import Firm, Worker
from coatround.web.books.models import Charge, Payment
from coatround.web.books.queries import owing_households
from coatround.web.due.queries import dogs_by_due
from coatround.web.letters.models import Letter
from coatround.web.notes.models import Note
from coatround.web.records.models import Dog, Household, Usual, Van
from coatround.web.records.queries import unpinned_places
from coatround.web.rounds.models import Proposal, Run
from coatround.web.visits.models import Visit

KEPT_SECONDS = 600


@dataclass(frozen=True)
class Hand:
    """One thing that waits for a person, in words, and where."""

    words: str
    address: str


@dataclass(frozen=True)
class Beginning:
    """One step of what to do first, done or not."""

    words: str | Promise
    is_done: bool
    address: str


def next_run(today: dt.date, who: Worker) -> Run | None:
    """Today's run, or the next that was accepted; of several on that day one's own."""
    runs = Run.objects.filter(date__gte=today).select_related("van", "groomer")
    own = Case(When(groomer=who, then=Value(0)), default=Value(1))
    return runs.order_by("date", own, "leave_seconds").first()


def begun() -> list[Beginning]:
    """What to do next in order, while something of it is still to do; then nothing."""
    tables: dict[str, type[Model]] = {"van": Van, "dog": Dog, "usual": Usual, "run": Run}
    some = Firm.objects.values(**{name: Exists(table._default_manager.all()) for name, table in tables.items()}).first()
    there_is = {name: bool(some and some[name]) for name in tables}
    steps = [
        Beginning(_("Set up your van and its hours"), there_is["van"], there("set-up")),
        Beginning(_("Bring your people in, or enter the first household"), there_is["dog"], there("bringing:page")),
        Beginning(_("Settle the usual of your dogs"), there_is["usual"], there("people")),
        Beginning(_("Plan the first weeks of the round"), there_is["run"], there("round:page")),
    ]
    return [] if all(step.is_done for step in steps) else steps


def there(name: str, query: str = "") -> str:
    """A page's address; a page that is not built yet leads to this one."""
    try:
        return reverse(name) + query
    except NoReverseMatch:
        return reverse("desk")


def hands_needed(today: dt.date) -> list[Hand]:
    """What waits for a person, most pressing first; what does not wait is not said."""
    return [*_plan_hands(today), *_paper_hands()]


def _plan_hands(today: dt.date) -> list[Hand]:
    to_come = Visit.objects.filter(date__gte=today).exclude(state="CANCELLED")
    said = to_come.aggregate(
        asked=Count("pk", filter=Q(answer="TENTATIVE")), no=Count("pk", filter=Q(answer="DECLINED"))
    )
    asked, said_no = said["asked"], said["no"]
    proposals = Proposal.objects.filter(state="ready", supposed__isnull=True).count()
    notes = Note.objects.filter(state="DRAFT").count()
    overdue = dogs_by_due(today, today - dt.timedelta(days=1)).count()
    return hands(
        (
            asked,
            ngettext("%(n)d household asked for another time", "%(n)d households asked for another time", asked),
            there("round:page"),
        ),
        (said_no, ngettext("%(n)d household said no", "%(n)d households said no", said_no), there("round:page")),
        (
            proposals,
            ngettext("%(n)d plan waits to be accepted", "%(n)d plans wait to be accepted", proposals),
            there("round:page"),
        ),
        (notes, ngettext("%(n)d note to send", "%(n)d notes to send", notes), there("notes:page")),
        (overdue, ngettext("%(n)d dog is overdue", "%(n)d dogs are overdue", overdue), there("due:page")),
    )


def _paper_hands() -> list[Hand]:
    letters = Letter.objects.filter(state="draft").count()
    owing = households_owing()
    unnamed = Household.objects.filter(to_be_named=True, closed_on__isnull=True).count()
    unpinned = unpinned_places().filter(household__closed_on__isnull=True).count()
    return hands(
        (
            letters,
            ngettext("%(n)d letter to read through", "%(n)d letters to read through", letters),
            there("letters:list"),
        ),
        (owing, ngettext("%(n)d household owes money", "%(n)d households owe money", owing), there("books:page")),
        (
            unnamed,
            ngettext("%(n)d household to be named", "%(n)d households to be named", unnamed),
            there("people", "?show=unnamed"),
        ),
        (
            unpinned,
            ngettext(
                "%(n)d address without a pin: no drive there can be planned",
                "%(n)d addresses without a pin: no drive there can be planned",
                unpinned,
            ),
            there("people", "?show=unpinned"),
        ),
    )


def households_owing() -> int:
    """How many owe; added up anew only after a charge or payment was added, since rows of money are only added."""
    latest = [rows.order_by("-pk").values_list("pk", flat=True).first() for rows in (Charge.objects, Payment.objects)]
    count = cache.get_or_set(f"owing-{latest[0]}-{latest[1]}", lambda: len(owing_households()), KEPT_SECONDS)
    return int(count or 0)


def hands(*lines: tuple[int, str, str]) -> list[Hand]:
    return [Hand(words % {"n": count}, address) for count, words, address in lines if count]
