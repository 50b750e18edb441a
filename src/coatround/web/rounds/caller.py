"""Someone calls: the ten best openings for their dogs in the coming weeks, and taking one."""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.db.models import Count
from django.utils.translation import gettext as _

from coatround.core.due_visits import visit_near
from coatround.core.rounds.by_hand import with_orders
from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.gaps import Gap, Gaps, way_of_place
from coatround.core.rounds.plan import BreakStop, VisitStop
from coatround.core.rounds.problem import Day
from coatround.core.rounds.problem import Visit as PlannerVisit
from coatround.core.rush import REGULAR_GROOMS, Rush
from coatround.core.units import HOUR, rounded_half_up
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.models import Worker
from coatround.web.base.money import money_text
from coatround.web.base.templatetags.coatround import clock, day, minutes
from coatround.web.due.facts import counted_grooms
from coatround.web.due.visits import (
    core_dogs,
    place_of_households,
    rushes_between,
    setting_for,
    van_of_households,
    work_days_of,
)
from coatround.web.records.models import Dog, Household, Place, Van
from coatround.web.rounds.accepting import Chosen, rewrite_runs
from coatround.web.rounds.acts import act_on_round, standing_row
from coatround.web.rounds.arriving import times_of
from coatround.web.rounds.gather import CannotPlan, degrees_apart, open_vans
from coatround.web.rounds.in_hand import InHand, frozen_problem, in_hand_standing
from coatround.web.rounds.to_tell import window_put_in
from coatround.web.visits.models import Visit, VisitDog

AHEAD = dt.timedelta(weeks=4)
SHOWN = 10
A_DATE = 2
ALL_VANS_AT_MOST = 12
"""Our own defaults: ten openings in four weeks, two a day; of more vans only the household's own or the nearest."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a caller wants: dogs, from when, and when they are free; empty weekdays are any."""

    household: Household
    dogs: tuple[Dog, ...]
    first: dt.date
    weekdays: tuple[int, ...] = ()
    hours: tuple[int, int] = (0, 24 * HOUR)


@dataclass(frozen=True, slots=True)
class CallerOpening:
    """An opening for people."""

    gap: Gap
    day: str
    window: str
    more: str
    earns: str
    tighter: tuple[str, ...]
    van: str
    is_estimate: bool


@dataclass(frozen=True, slots=True)
class Looked:
    """The plan that stands with the openings in it, cheapest first; `held` are the rushes that keep some back."""

    hand: InHand
    new: PlannerVisit
    place: Place
    found: tuple[Gap, ...]
    held: tuple[Rush, ...] = ()


def look(wanted: Wanted) -> Looked:
    """The ten best openings. Raises CannotPlan where something is missing, in words."""
    place = pinned_place(wanted.household)
    van = _van(wanted.household, place)
    first = max(wanted.first, firm_today() + dt.timedelta(days=1))
    holding = not is_regular(wanted.household)
    hand = in_hand_standing(first, first + AHEAD, today=firm_today(), van=van, also=[place], holding=holding)
    new = visit_wanted(wanted, place, van, first)
    frozen = frozen_problem(hand)
    gaps = Gaps(frozen, hand.plan).best(new, way_of_place(frozen, new.place), SHOWN, A_DATE)
    return Looked(hand, new, place, gaps, _held(first) if holding else ())


def is_regular(household: Household) -> bool:
    """Whether one of its dogs was groomed here often enough to be a regular's."""
    counts = counted_grooms().filter(dog__household=household).values("dog").annotate(count=Count("pk"))
    return counts.filter(count__gte=REGULAR_GROOMS).exists()


def _held(first: dt.date) -> tuple[Rush, ...]:
    """The rushes that hold something back on one of the dates looked at."""
    dates = [first + dt.timedelta(days=number) for number in range(AHEAD.days + 1)]
    rushes = rushes_between(first, first + AHEAD)
    return tuple(rush for rush in rushes if any(rush.holds(date, firm_today()) for date in dates))


def pinned_place(household: Household) -> Place:
    """Where a household is visited; raises CannotPlan in words where that has no pin."""
    place_id = place_of_households([household.pk]).get(household.pk)
    place = Place.objects.filter(pk=place_id).first() if place_id else None
    if place is None or not place.is_pinned:
        words = _("%(household)s has no address with a pin on the map. Set it first.")
        raise CannotPlan(words % {"household": household})
    return place


def _van(household: Household, place: Place) -> Van | None:
    vans = open_vans()
    if len(vans) <= ALL_VANS_AT_MOST:
        return None
    own = van_of_households(firm_today(), [household.pk]).get(household.pk)
    nearest = min(vans, key=lambda van: degrees_apart(van.home, place))
    return next((van for van in vans if van.pk == own), nearest)


def visit_wanted(wanted: Wanted, place: Place, van: Van | None, first: dt.date) -> PlannerVisit:
    """The visit as the planner takes it, on the days and hours on which they are free."""
    firm, vans = the_firm(), [van] if van else open_vans()
    days = work_days_of(vans, firm, first, first + AHEAD)
    dogs = core_dogs(list(wanted.dogs), firm_today(), place=place.pk)
    links = VisitDog.objects.filter(dog__in=wanted.dogs).exclude(visit__state="CANCELLED")
    taken = set(links.values_list("visit__date", flat=True))
    new = visit_near("new", dogs, first, taken, setting_for(firm, vans, first, first + AHEAD, days))
    free = []
    for one in new.days:
        windows = tuple(cut for cut in (_cut(window, wanted.hours) for window in one.windows) if cut)
        if windows and (not wanted.weekdays or one.date.weekday() in wanted.weekdays):
            free.append(Day(one.date, 0, windows))
    return replace(new, days=tuple(free))


def _cut(window: tuple[int, int], hours: tuple[int, int]) -> tuple[int, int] | None:
    opens, closes = max(window[0], hours[0]), min(window[1], hours[1])
    return (opens, closes) if closes > opens else None


def for_people(looked: Looked, wanted: Wanted) -> list[CallerOpening]:
    """The openings in words."""
    vans = {str(van.pk): van.name for van in Van.objects.all()}
    price = _price(wanted)
    roads = bool(looked.hand.names.get("roads")) and str(looked.place.pk) not in looked.hand.names.get("off_road", {})
    many = len({run.van for run in looked.hand.problem.runs}) > 1
    return [_in_words(gap, looked, price, vans[gap.van] if many else "", is_estimate=not roads) for gap in looked.found]


def _price(wanted: Wanted) -> int:
    usuals = (dog.usuals.filter(closed_on__isnull=True).order_by("-valid_from").first() for dog in wanted.dogs)
    return sum(usual.price_cents for usual in usuals if usual)


def _in_words(gap: Gap, looked: Looked, price: int, van: str, *, is_estimate: bool) -> CallerOpening:
    firm = the_firm()
    cents = rounded_half_up(gap.units, UNIT)
    problem = replace(looked.hand.problem, visits=(*looked.hand.problem.visits, looked.new))
    order = _order(looked.hand, gap.run, gap.at, looked.new.id)
    window = "{:%H:%M}-{:%H:%M}".format(*times_of(window_put_in(problem, gap.run, order, looked.new.id).told))
    more = _("no more driving")
    if gap.drive_seconds >= 60:
        more = _("%(minutes)s more driving") % {"minutes": minutes(gap.drive_seconds)}
    elif gap.drive_seconds <= -60:
        more = _("%(minutes)s less driving") % {"minutes": minutes(-gap.drive_seconds)}
    if gap.overtime_seconds >= 60:
        more += ", " + _("%(minutes)s overtime") % {"minutes": minutes(gap.overtime_seconds)}
    more += ", " + _("costs %(money)s") % {"money": money_text(max(0, cents), firm)}
    seconds = looked.new.seconds + max(0, gap.drive_seconds)
    earns = ""
    if price:
        hourly = rounded_half_up((price - cents) * HOUR, seconds)
        earns = _("earns %(money)s an hour") % {"money": money_text(hourly, firm)}
    return CallerOpening(gap, day(gap.date), window, more, earns, _tighter(gap), van, is_estimate)


def _tighter(gap: Gap) -> tuple[str, ...]:
    """What the day has less of then."""
    found = [_("back at %(clock)s") % {"clock": clock(gap.back)}]
    slack = minutes(max(0, gap.slack_seconds))
    found.append(_("%(minutes)s in hand before the next would be late") % {"minutes": slack})
    if gap.refill:
        found.append(_("one more stop to fill the tank"))
    found.append(_("%(litres)d litres left after it") % {"litres": gap.litres_left})
    return tuple(found)


def take(wanted: Wanted, run: str, at: int, who: Worker) -> Visit | None:
    """Pencils the visit in before stop number `at` of a run; None where it does not fit there any more."""
    looked = look(wanted)
    gap = next((one for one in looked.found if (one.run, one.at) == (run, at)), None)
    if gap is None:
        return None
    hand, id_ = looked.hand, Visit().pk
    new = replace(looked.new, id=str(id_))
    problem = replace(hand.problem, visits=(*hand.problem.visits, new))
    after = with_orders(problem, hand.plan, {run: _order(hand, run, at, str(id_))})
    if any(fault.where == run for fault in after.faults):
        return None
    dates = [gap.date]
    names = dict(hand.names) | {"visits": hand.names["visits"] | {str(id_): _names(new)}}
    with act_on_round(who, dates, [], about=_("an opening taken")):
        row = Visit(pk=id_, household=wanted.household, place=looked.place, date=gap.date, van_id=uuid.UUID(gap.van))
        row.source = "hand"
        row.save()
        VisitDog.objects.bulk_create(VisitDog(visit=row, dog=dog, order=n) for n, dog in enumerate(wanted.dogs))
        rewrite_runs(Chosen(problem, after.plan, names, frozenset(dates)), [run], who, standing_row().version + 1)
    return row


def _order(hand: InHand, run: str, at: int, new: str) -> list[str]:
    """The visits of the run with the new one before its stop number `at`, counted without breaks."""
    planned = next((one for one in hand.plan.runs if one.id == run), None)
    stops = [one for one in planned.stops if not isinstance(one, BreakStop)] if planned else []
    before = [one.visit for one in stops[:at] if isinstance(one, VisitStop)]
    after = [one.visit for one in stops[at:] if isinstance(one, VisitStop)]
    return [*before, new, *after]


def _names(new: PlannerVisit) -> Mapping[str, object]:
    return {"water_l": new.water_l, "visit": new.id, "place": new.place}
