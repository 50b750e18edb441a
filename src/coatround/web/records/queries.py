"""What the pages of records read."""

import re
from typing import Any

from django.db.models import Case, IntegerField, Prefetch, Q, QuerySet, Value, When

from coatround.web.records.models import Dog, Household, Person, Place
from coatround.web.records.phones import digits_to_find

PHONE_LIKE = re.compile(r"[\d\s()+./\-]{5,}")
FEWEST_DIGITS = 3
MOST_WORDS = 6


def households(show: str = "") -> QuerySet[Household]:
    """Households by name: the open ones, or `unnamed`, `unpinned`, `closed`."""
    if show == "closed":
        return Household.objects.filter(closed_on__isnull=False)
    rows = Household.objects.filter(closed_on__isnull=True)
    if show == "unnamed":
        return rows.filter(to_be_named=True)
    if show == "unpinned":
        return rows.filter(pk__in=unpinned_places().values("household"))
    return rows


def unpinned_places() -> QuerySet[Place]:
    """Addresses of households that no drive can be planned to."""
    return Place.objects.filter(household__isnull=False, closed_on__isnull=True, lat__isnull=True)


def found(rows: QuerySet[Household], typed: str) -> QuerySet[Household]:
    """Households with every typed word in some name, dog, street, email or phone; names that begin so come first."""
    words = typed.split()[:MOST_WORDS]
    if not words:
        return rows
    whole = digits_to_find(typed)
    match = Q()
    for word in words:
        match &= holds(word)
    if PHONE_LIKE.fullmatch(typed.strip()) and len(whole) >= FEWEST_DIGITS:
        match |= Q(pk__in=people_with_digits(whole))
    begins = Case(
        When(name__istartswith=words[0], then=Value(0)),
        When(pk__in=Dog.objects.filter(name__istartswith=words[0]).values("household"), then=Value(1)),
        default=Value(2),
        output_field=IntegerField(),
    )
    return rows.filter(match).order_by(begins, "name", "id")


def holds(word: str) -> Q:
    """A household in which one word stands somewhere."""
    match = (
        Q(name__icontains=word)
        | Q(pk__in=Dog.objects.filter(name__icontains=word).values("household"))
        | Q(pk__in=Person.objects.filter(Q(name__icontains=word) | Q(email__icontains=word)).values("household"))
        | Q(pk__in=places_with(word).values("household"))
    )
    digits = digits_to_find(word)
    return match | Q(pk__in=people_with_digits(digits)) if len(digits) >= FEWEST_DIGITS else match


def places_with(word: str) -> QuerySet[Place]:
    rows = Place.objects.filter(household__isnull=False)
    return rows.filter(Q(line__icontains=word) | Q(suburb__icontains=word) | Q(postcode__startswith=word))


def people_with_digits(digits: str) -> QuerySet[Person, Any]:
    return Person.objects.filter(phone__contains=digits).values("household")


def with_lines(rows: QuerySet[Household]) -> QuerySet[Household]:
    """With what a line of the list shows: dogs, people, places that are open."""
    is_open = {"closed_on__isnull": True}
    return rows.prefetch_related(
        Prefetch("dogs", Dog.objects.filter(**is_open), to_attr="open_dogs"),
        Prefetch("people", Person.objects.filter(**is_open), to_attr="open_people"),
        Prefetch("places", Place.objects.filter(**is_open).order_by("made_at"), to_attr="open_places"),
    )


def pinned_points() -> list[tuple[float, float]]:
    """Where the places in force lie that have a pin: degrees north and east."""
    rows = Place.objects.filter(closed_on__isnull=True, lat__isnull=False, lon__isnull=False)
    return [(float(lat or 0), float(lon or 0)) for lat, lon in rows.values_list("lat", "lon")]
