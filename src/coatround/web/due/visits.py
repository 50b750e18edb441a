"""Due visits for the planner: what is due between two dates, what is agreed, what is pencilled in."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from coatround.core import day_table
from coatround.core import due_visits as core
from coatround.core.due_work import is_unvaccinated_puppy, needs_big_tub, power_wh, rank_of, work_seconds
from coatround.core.rush import REGULAR_GROOMS, Rush
from coatround.core.trade.water import litres_for
from coatround.core.workdays import DaysOff, WeekdayHours, Workday, dates_between, widest_hours, workdays
from coatround.web.base.firm import the_firm
from coatround.web.base.models import Firm
from coatround.web.due.facts import Past, done_dates, parts, past_of, seconds_of, usuals_of
from coatround.web.due.holidays import public_holidays
from coatround.web.due.minutes import Minutes, settled_seconds, washes_of
from coatround.web.due.order import dogs_by_due
from coatround.web.records.models import Caution, DayOff, Dog, Household, Place, Van, WorkingHours
from coatround.web.records.models import Rush as RushRow
from coatround.web.records.seasons import HEAT_KINDS, hot_months
from coatround.web.visits.models import Finding, Fit, Groom, Visit, VisitDog

AHEAD = dt.timedelta(days=120)
BEHIND = dt.timedelta(days=200)
COME_ALONG = dt.timedelta(days=14)
PIN_SECONDS = 15 * 60
"""A pinned visit is kept so near to where it was put: our own default."""


@dataclass(frozen=True, slots=True)
class Standing:
    """The visits ahead as the core takes them."""

    agreed: tuple[core.AgreedVisit, ...]
    pencilled: tuple[day_table.Pencilled, ...]


Supposing = Callable[[tuple[day_table.Dog, ...]], tuple[day_table.Dog, ...]]
"""What a what-if makes of the dogs before their due dates are reckoned."""


def due_visits(
    first: dt.date,
    last: dt.date,
    *,
    today: dt.date,
    van: Van | None = None,
    firm: Firm | None = None,
    supposing: Supposing = lambda dogs: dogs,
) -> tuple[core.DueVisit, ...]:
    """Every visit to plan from first to last: what is agreed, and what falls due; of one van's households if named."""
    firm = firm or the_firm()
    first = max(first, today)
    vans = list(Van.objects.filter(closed_on__isnull=True))
    own = [van] if van is not None else vans
    setting = setting_for(firm, own, first, last, work_days_of(own, firm, first, last + COME_ALONG))
    households = _households_of(van, today) if van is not None and len(vans) > 1 else None
    own_van = van_of_households(today, households) if len(vans) > 1 else {}
    ahead = _visits_ahead(today, last)
    visits = list(ahead if households is None else ahead.filter(household__in=households))
    dogs = _dogs(today, last, {link.dog_id for row in visits for link in row.visit_dogs.all()}, households)
    standing = _standing(visits, first, last, own_van)
    known = supposing(tuple(core_dogs(dogs, today)))
    found = core.due_visits(known, standing.agreed, standing.pencilled, today, setting)
    return tuple(_kept_with_van(visit, own_van) for visit in found)


def setting_for(
    firm: Firm, vans: Iterable[Van], first: dt.date, last: dt.date, days: Iterable[Workday]
) -> day_table.Setting:
    """What all visits of these dates share."""
    door = firm.setting_up_seconds + firm.packing_up_seconds
    hot = seconds_of(firm.hot_from), seconds_of(firm.hot_until)
    tank_l = max((min(van.clean_l, van.grey_l) for van in vans), default=None)
    return day_table.Setting(
        first,
        last,
        widest_hours(days),
        door,
        firm.cents_per_drive_hour,
        tank_l,
        closed=_closed(firm, first, last),
        hot_months=frozenset(hot_months(firm)),
        hot_hours=None if hot[0] is None or hot[1] is None else (hot[0], hot[1]),
        blow_months=frozenset(firm.blow_months),
        blow_percent=firm.blow_percent,
        rushes=rushes_between(first, last),
    )


def rushes_between(first: dt.date, last: dt.date) -> tuple[Rush, ...]:
    """The rushes that touch these dates."""
    rows = RushRow.objects.filter(first__lte=last, last__gte=first)
    return tuple(Rush(row.name, row.first, row.last, row.held_minutes * 60, row.open_days) for row in rows)


def _closed(firm: Firm, first: dt.date, last: dt.date) -> dict[dt.date, str]:
    """The dates on which the firm does not work at all, each with its reason in words."""
    closed = dict(public_holidays(firm.country, first, last))
    for row in DayOff.objects.filter(first__lte=last, last__gte=first, van__isnull=True):
        closed |= {date: row.words or _("day off") for date in dates_between(row.first, row.last)}
    return closed


def work_days_of(vans: Sequence[Van], firm: Firm, first: dt.date, last: dt.date) -> tuple[Workday, ...]:
    """The days on which these vans work; public holidays and days off are none."""
    hours: dict[str, list[WeekdayHours]] = {str(van.pk): [] for van in vans}
    for row in WorkingHours.objects.filter(van__in=vans):
        hours[str(row.van_id)].append(_weekday_hours(row))
    rows = DayOff.objects.filter(Q(van__in=vans) | Q(van__isnull=True), first__lte=last, last__gte=first)
    off = [DaysOff(row.first, row.last, str(row.van_id) if row.van_id else None) for row in rows]
    return workdays(hours, off, public_holidays(firm.country, first, last), first, last)


def _weekday_hours(row: WorkingHours) -> WeekdayHours:
    return WeekdayHours(
        row.weekday,
        seconds_of(row.open) or 0,
        seconds_of(row.close) or 0,
        row.break_minutes * 60,
        seconds_of(row.break_from),
        seconds_of(row.break_until),
    )


def van_of_households(today: dt.date, only: Collection[uuid.UUID] | None = None) -> dict[uuid.UUID, uuid.UUID]:
    """The van that each household had last, or has next: people stay with their groomer."""
    rows = _with_a_van(today) if only is None else _with_a_van(today).filter(household__in=only)
    return dict(rows.order_by("date").values_list("household", "van"))


def _with_a_van(today: dt.date) -> "QuerySet[Visit]":
    rows = Visit.objects.filter(date__gte=today - BEHIND, van__isnull=False, van__closed_on__isnull=True)
    return rows.exclude(state="CANCELLED")


def _households_of(van: Van, today: dt.date) -> set[uuid.UUID]:
    """The households that belong to a van, and those that belong to none yet."""
    seen = set(_with_a_van(today).filter(van=van).order_by().values_list("household", flat=True).distinct())
    own = {household for household, last in van_of_households(today, seen).items() if last == van.pk}
    new = Household.objects.filter(closed_on__isnull=True).exclude(pk__in=_with_a_van(today).values("household"))
    return own | set(new.values_list("pk", flat=True))


def _kept_with_van(visit: core.DueVisit, own_van: Mapping[uuid.UUID, uuid.UUID]) -> core.DueVisit:
    van = own_van.get(uuid.UUID(visit.household)) if visit.visit.vans is None else None
    return replace(visit, visit=replace(visit.visit, vans=(str(van),))) if van else visit


def _visits_ahead(today: dt.date, last: dt.date) -> "QuerySet[Visit]":
    """Visits from today on that still stand and are not done; those past the last date too, for their dogs."""
    done = Groom.objects.filter(date__gte=today).values("visit")
    return (
        Visit.objects.filter(date__gte=today, date__lte=last + AHEAD)
        .exclude(state="CANCELLED")
        .exclude(pk__in=done)
        .prefetch_related("visit_dogs", "stops")
        .order_by("date", "pk")
    )


def _standing(
    visits: Iterable[Visit], first: dt.date, last: dt.date, own_van: Mapping[uuid.UUID, uuid.UUID]
) -> Standing:
    """Agreed is what a household knows of, and what lies outside these dates; the rest is only pencilled in."""
    agreed, pencilled = [], []
    for row in visits:
        dogs = tuple(str(link.dog_id) for link in row.visit_dogs.all())
        known = row.state == "CONFIRMED" or (row.source != "plan" and row.answer == "NEEDS-ACTION")
        if known or row.is_pinned or not first <= row.date <= last:
            agreed.append(_agreed(row, dogs))
        else:
            refused = row.answer in ("DECLINED", "TENTATIVE")
            stop = next(iter(row.stops.all()), None)
            start = stop.start_seconds if stop else None
            pencilled.append(day_table.Pencilled(str(row.pk), frozenset(dogs), row.date, refused, start))
    return Standing(tuple(agreed), tuple(pencilled))


def _agreed(row: Visit, dogs: tuple[str, ...]) -> core.AgreedVisit:
    """What is settled: the window told, else a quarter of an hour either way of where a person pinned it."""
    from_ = seconds_of(row.told_from)
    until = seconds_of(row.told_until)
    window = None if from_ is None else (from_, from_ if until is None else max(from_, until))
    told = row.state == "CONFIRMED"
    if window is None and row.pinned_seconds is not None:
        window = max(0, row.pinned_seconds - PIN_SECONDS), row.pinned_seconds + PIN_SECONDS
    vans = (str(row.van_id),) if row.is_pinned and row.van_id else None
    return core.AgreedVisit(str(row.pk), str(row.household_id), str(row.place_id), dogs, row.date, window, told, vans)


def _dogs(
    today: dt.date, last: dt.date, with_visits: set[uuid.UUID], households: Collection[uuid.UUID] | None
) -> list[Dog]:
    """The dogs that are due by then or have a visit ahead; only of some households if they are named."""
    rows = dogs_by_due(today, last + COME_ALONG).order_by()
    due = (rows if households is None else rows.filter(household__in=households)).values("pk")
    dogs = Dog.objects.filter(Q(pk__in=due) | Q(pk__in=with_visits), household__closed_on__isnull=True)
    return list(dogs.filter(closed_on__isnull=True).order_by("pk"))


def core_dogs(rows: Sequence[Dog], today: dt.date, *, place: uuid.UUID | None = None) -> list[day_table.Dog]:
    """Dogs with all that their due dates and the length of their visits follow from; at `place` if it is named."""
    ids = [row.pk for row in rows]
    usuals, pasts = usuals_of(ids), past_of(ids)
    fleas, washes = dogs_with_fleas(ids, pasts, today), washes_of(ids, today)
    homes = (
        {row.household_id: place for row in rows} if place else place_of_households({row.household_id for row in rows})
    )
    minutes, own = Minutes(today, washes), the_firm().figures
    supplies, heat, needs_big = supplies_of(homes.values()), heat_cautions(ids, today), some_big_tub()
    found = []
    for row in rows:
        settled = usuals.get(row.pk, ())
        now = settled_seconds(settled, today)
        default, is_default = work_seconds(now, pasts.get(row.pk, Past()).seconds, row.coat, row.size)
        seconds, spread, is_learnt = minutes.of(row, settled, default)
        puppy = is_unvaccinated_puppy(row.born, row.vaccination_known, row.vaccinated_until, today)
        found.append(
            day_table.Dog(
                id=str(row.pk),
                household=str(row.household_id),
                place=str(homes.get(row.household_id) or ""),
                usuals=settled,
                done=done_dates(row, pasts),
                work_seconds=seconds,
                work_sd_seconds=spread,
                water_l=litres_for(row.coat, row.size, row.weight_grams or None, washes.get(row.pk, 1), own),
                rank=rank_of(puppy, row.pk in fleas),
                needs=_needs(row, needs_big),
                work_is_default=is_default and not is_learnt,
                power_wh=power_wh(seconds),
                heat=heat.get(row.pk, ()),
                blows_coat=row.coat == "double" and not is_learnt,  # what is learnt holds the month already
                is_regular=len(pasts.get(row.pk, Past()).grooms) >= REGULAR_GROOMS,
                tap=supplies.get(homes.get(row.household_id), ("", ""))[0] == "may use",
                plug=supplies.get(homes.get(row.household_id), ("", ""))[1] == "may use",
            )
        )
    return found


def _needs(row: Dog, some_big: bool) -> tuple[str, ...]:
    big = some_big and needs_big_tub(row.size, row.weight_grams)
    return ("big tub",) * big + ("two people",) * row.two_people


def some_big_tub() -> bool:
    """Whether any van has a big tub; where none has, big dogs are done in what there is."""
    return Van.objects.filter(closed_on__isnull=True, has_big_tub=True).exists()


def supplies_of(ids: Iterable[uuid.UUID]) -> dict[uuid.UUID | None, tuple[str, str]]:
    """What is known of tap and plug at each of these places."""
    found: dict[uuid.UUID | None, tuple[str, str]] = {}
    for part in parts(ids):
        found |= {
            pk: (tap, plug) for pk, tap, plug in Place.objects.filter(pk__in=part).values_list("pk", "tap", "plug")
        }
    return found


def heat_cautions(ids: Iterable[uuid.UUID], today: dt.date) -> dict[uuid.UUID, tuple[str, ...]]:
    """The kinds of open cautions that keep a dog out of hot hours, for the dogs that have any."""
    found: dict[uuid.UUID, tuple[str, ...]] = {}
    for part in parts(ids):
        rows = Caution.objects.filter(dog__in=part, kind__in=HEAT_KINDS, closed_on__isnull=True)
        rows = rows.filter(Q(until__isnull=True) | Q(until__gte=today)).order_by("kind")
        for dog, kind in rows.values_list("dog", "kind").distinct():
            found[dog] = (*found.get(dog, ()), kind)
    return found


def place_of_households(ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, uuid.UUID]:
    """Where each household is visited: its first open place, one with a pin before one without."""
    found: dict[uuid.UUID, tuple[bool, uuid.UUID]] = {}
    for part in parts(ids):
        rows = Place.objects.filter(household__in=part, closed_on__isnull=True).order_by("made_at", "pk")
        for row in rows.only("household", "lat", "lon"):
            if row.household_id and (
                row.household_id not in found or (row.is_pinned and not found[row.household_id][0])
            ):
                found[row.household_id] = row.is_pinned, row.pk
    return {household: place for household, (_pinned, place) in found.items()}


def dogs_with_fleas(ids: Iterable[uuid.UUID], pasts: Mapping[uuid.UUID, Past], today: dt.date) -> set[uuid.UUID]:
    """Dogs on which fleas or their dirt were found at the last groom, or told at the door at the last visit."""
    with_fleas: set[uuid.UUID] = set()
    looks: dict[uuid.UUID, list[str]] = defaultdict(list)
    for part in parts(ids):
        found = Finding.objects.filter(groom__dog__in=part, kind="flea", grade__gte=1, groom__corrected=False)
        for dog, date in found.values_list("groom__dog", "groom__date"):
            if pasts.get(dog, Past()).dates[:1] == (date,):
                with_fleas.add(dog)
        fits = Fit.objects.filter(dog__in=part, corrected=False, at__date__gte=today - BEHIND).order_by("at")
        looks |= dict(fits.values_list("dog", "signs"))
    return with_fleas | {dog for dog, signs in looks.items() if "fleas" in signs}


def dogs_of(visit: Visit) -> list[uuid.UUID]:
    """The dogs of a visit in their order."""
    return list(VisitDog.objects.filter(visit=visit).order_by("order", "pk").values_list("dog", flat=True))
