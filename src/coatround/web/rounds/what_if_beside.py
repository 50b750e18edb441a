"""What-ifs laid side by side: the figures of each plan, with bars."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext_lazy

from coatround.core.units import HOUR
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.money import money_text
from coatround.web.base.templatetags.coatround import kilometres, minutes
from coatround.web.records.usual import in_force
from coatround.web.rounds.models import Proposal
from coatround.web.rounds.queries import standing_version
from coatround.web.rounds.supposed import Supposed

ROWS = (
    gettext_lazy("runs"),
    gettext_lazy("visits"),
    gettext_lazy("left out"),
    gettext_lazy("driving"),
    gettext_lazy("driving a visit"),
    gettext_lazy("kilometres"),
    gettext_lazy("hours out"),
    gettext_lazy("overtime"),
    gettext_lazy("earned"),
    gettext_lazy("driving and overtime cost"),
    gettext_lazy("left"),
    gettext_lazy("left, an hour"),
    gettext_lazy("visits on another day"),
)


@dataclass(frozen=True, slots=True)
class Cell:
    """One figure of one plan in words, and how long its bar is, of 100."""

    words: str
    width: int


@dataclass(frozen=True, slots=True)
class Column:
    """One plan of the comparison; `is_older` says that it was planned from another state than the copy beside it."""

    proposal: Proposal
    supposed: Supposed
    is_older: bool
    cells: tuple[Cell, ...]


def what_ifs() -> list[Proposal]:
    """The what-ifs that are there, the plan of things as they are first."""
    rows = Proposal.objects.filter(Q(supposed__isnull=False), state__in=("waiting", "planning", "ready", "failed"))
    return sorted(rows.defer("problem"), key=lambda one: (one.supposed != {}, one.made_at))


def first_date() -> dt.date:
    """The date that what-ifs are planned from."""
    return firm_today() + dt.timedelta(days=1)


def is_of_now(proposal: Proposal) -> bool:
    """Whether it was planned from the plan that stands now, and from the same date."""
    return proposal.base_version == standing_version() and proposal.first_date == first_date()


def beside(rows: list[Proposal]) -> list[Column]:
    """These plans as columns, each bar as long as its figure is against the greatest of its row."""
    base = next((one for one in rows if one.supposed == {}), None)
    figures = [_figures(one) for one in rows]
    most = [max((abs(values[n][1]) for values in figures), default=0) or 1 for n in range(len(ROWS))]
    return [
        Column(
            one,
            Supposed.of(one.supposed or {}),
            base is None or one.made_at < base.made_at or not is_of_now(one),
            tuple(Cell(words, round(100 * max(0, value) / most[n])) for n, (words, value) in enumerate(values)),
        )
        for one, values in zip(rows, figures, strict=True)
    ]


def _figures(proposal: Proposal) -> tuple[tuple[str, int], ...]:
    """Each row's figure in words and as a number; the numbers of one row are in one unit."""
    firm, totals = the_firm(), proposal.names["totals"]
    plan, supposed = proposal.plan or {}, Supposed.of(proposal.supposed or {})
    out = sum(run["back"] - run["leave"] for run in plan["runs"])
    spent = plan["cost"]["drive"] + plan["cost"]["overtime"]
    earned, visits = _earned(proposal, supposed), totals["visits"]
    a_visit = totals["drive_seconds"] // visits if visits else 0
    an_hour = (earned - spent) * HOUR // out if out else 0
    moved = sum(_moved_in(proposal, run) for run in plan["runs"])
    return (
        (str(totals["runs"]), totals["runs"]),
        (str(visits), visits),
        (str(len(plan["left_out"])), len(plan["left_out"])),
        (minutes(totals["drive_seconds"]), totals["drive_seconds"]),
        (minutes(a_visit) if visits else "", a_visit),
        (kilometres(totals["drive_metres"]), totals["drive_metres"]),
        (f"{out / HOUR:.1f}", out),
        (minutes(totals["overtime_seconds"]), totals["overtime_seconds"]),
        (money_text(earned, firm), earned),
        (money_text(spent, firm), spent),
        (money_text(earned - spent, firm), earned - spent),
        (money_text(an_hour, firm) if out else "", an_hour),
        (str(moved), moved),
    )


def _earned(proposal: Proposal, supposed: Supposed) -> int:
    """The prices of the dogs that the plan serves, as supposed; invented dogs earn the middle price of all."""
    served = {stop["visit"] for run in (proposal.plan or {})["runs"] for stop in run["stops"] if "visit" in stop}
    dogs = [dog["id"] for id_, names in proposal.names["visits"].items() if id_ in served for dog in names["dogs"]]
    rows = in_force(proposal.first_date).filter(dog__in=set(dogs)).order_by("valid_from", "pk")
    found = {dog: (cents, coat) for dog, cents, coat in rows.values_list("dog", "price_cents", "dog__coat")}
    prices = {
        str(dog): supposed.priced(cents) if supposed.coat in ("", coat) else cents
        for dog, (cents, coat) in found.items()
    }
    known = sorted(prices.values())
    middle = known[len(known) // 2] if known else 0
    return sum(prices.get(dog, middle) for dog in dogs)


def _moved_in(proposal: Proposal, run: dict[str, Any]) -> int:
    date = proposal.names["runs"][run["id"]]["date"]
    stands = (proposal.names["visits"][stop["visit"]]["stands"] for stop in run["stops"] if "visit" in stop)
    return sum(1 for one in stands if one and one["date"] != date)
