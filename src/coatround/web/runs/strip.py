"""A run sheet's ribbon."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.web.base.templatetags.coatround import day
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.ribbon import Block, ClosedHours, Ribbon, RibbonRun, Span, ribbon_of
from coatround.web.runs.sheet import RunSheet, SheetStop

PHONE_PX, DESK_PX, PAPER_PX = 328, 620, 718


def ribbon_run(sheet: RunSheet) -> RibbonRun:
    """The run as a ribbon draws it: where it now stands on the day, as planned on another."""
    shown = [stop for stop in sheet.stops if stop.now.end > stop.now.start]
    return RibbonRun(
        title=_title(sheet),
        leave=sheet.day.leave,
        back=sheet.day.back,
        blocks=tuple(_block(stop) for stop in shown if stop.kind == "visit"),
        tank_l=sheet.tank_l,
        tank=sheet.day.tank,
        refills=tuple(_span(stop) for stop in shown if stop.kind == "refill"),
        breaks=tuple(_span(stop) for stop in shown if stop.kind == "break"),
        now=sheet.seconds_now,
        closed=_closed(sheet),
        heat=sheet.heat,
        degrees=sheet.degrees,
    )


def _closed(sheet: RunSheet) -> tuple[ClosedHours, ...]:
    hot = sheet.hot
    if hot is None:
        return ()
    words = _("closed to %(dogs)s") % {"dogs": names_in_words(hot.dogs)}
    return (ClosedHours(hot.from_, hot.until, (words, _("closed to some"), _("hot"))),)


def ribbons(sheet: RunSheet) -> tuple[Ribbon, Ribbon]:
    """The same run drawn for a phone and for a desk."""
    run = ribbon_run(sheet)
    return (
        ribbon_of(run, PHONE_PX, key="run-phone", size="phone"),
        ribbon_of(run, DESK_PX, key="run-desk", size="desk"),
    )


def paper_ribbon(sheet: RunSheet) -> Ribbon:
    """The low one, as wide as a printed page."""
    return ribbon_of(ribbon_run(sheet), PAPER_PX, key="run-paper", small=True, size="desk")


def _title(sheet: RunSheet) -> str:
    count = len(sheet.visits)
    visits = ngettext("%(count)d visit", "%(count)d visits", count) % {"count": count}
    return _("%(day)s, van %(van)s: %(visits)s") % {"day": day(sheet.date), "van": sheet.van, "visits": visits}


def _span(stop: SheetStop) -> Span:
    return Span(stop.now.start, stop.now.end)


def _block(stop: SheetStop) -> Block:
    told = stop.now.plan.told
    names = tuple(dog.name for dog in stop.dogs) or (stop.household_name,)
    litres = round(stop.now.water_before_l - stop.now.water_after_l)
    span = Span(*told) if told else None
    is_done = stop.now.state in ("done", "not done")
    return Block(names, stop.now.start, stop.now.end, max(litres, 0), stop.now.arrive, span, is_done)
