"""Why a visit was left out: one of the plan's reasons, and words a person can act on."""

from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.draft import Draft
from coatround.core.rounds.plan import LeftOut
from coatround.core.rounds.problem import Day, Run, Visit
from coatround.core.rounds.table import starts_on
from coatround.core.units import clock, minutes


def left_out_because(draft: Draft, v: int) -> LeftOut:
    """The true reason why visit `v` is on no run of the draft."""
    visit = draft.table.problem.visits[v]
    reason, words = _reason(draft, v, visit)
    if visit.told:
        day = visit.days[0].date.isoformat() if visit.days else "a day"
        return LeftOut(visit.id, "told_broken", f"Told {day}, and cannot be kept: {words} Ring them first.")
    return LeftOut(visit.id, reason, words)


def _reason(draft: Draft, v: int, visit: Visit) -> tuple[str, str]:
    out = _days_with_runs(draft, visit)
    if not out:
        return "no_day", _no_day(visit)
    kept = [(day, run) for day, run in out if draft.keeps_ties(v, run.date)]
    if not kept:
        return _tied(draft, v, visit, out[0][1])
    if not any(starts_on(visit, day.windows, run) for day, run in kept):
        return "window_too_short", _too_short(visit, kept)
    runs = [r for r in draft.runs_open_to(v) if draft.best(r, [v])]
    if not runs:
        return "no_run", _no_run(visit, [run for day, run in kept if starts_on(visit, day.windows, run)])
    added = [
        (ordered.units - draft.units(r), r)
        for r in runs
        if (ordered := draft.best(r, [*draft.orders[r], v])) is not None
    ]
    if not added:
        return "no_room", _no_room(draft, visit, runs)
    units, r = min(added)
    run = draft.table.problem.runs[r]
    return "dearer_than_left_out", (
        f"It would add {-(-units // UNIT)} cents on {run.date.isoformat()} with run {run.id}, leaving it out "
        f"costs {visit.left_out_cents}. Raise what leaving it out costs, or offer another day."
    )


def _days_with_runs(draft: Draft, visit: Visit) -> list[tuple[Day, Run]]:
    return [(day, run) for day in visit.days for run in draft.table.problem.runs if run.date == day.date]


def _no_day(visit: Visit) -> str:
    if not visit.days:
        return "It has no day at all. Give it days, or widen the days early and late."
    dates = ", ".join(day.date.isoformat() for day in visit.days[:3])
    more = f" and {len(visit.days) - 3} more" if len(visit.days) > 3 else ""
    return f"No run is out on its days ({dates}{more}). Add a run, or allow other days."


def _tied(draft: Draft, v: int, visit: Visit, run: Run) -> tuple[str, str]:
    """Its days are all too near to, or too far from, a visit it follows or one that follows it."""
    link = visit.follows
    first = draft.date_of(draft.table.visit_number[link.visit]) if link else None
    if link and first:
        return "no_day", (
            f"None of its days is {link.least_days} to {link.most_days} days after {link.visit}, which falls on "
            f"{first.isoformat()}. Allow other days, or move {link.visit}."
        )
    other = draft.table.problem.visits[draft.against(v, run.date)[0]].id
    return "no_room", f"On none of its days is it the right time before {other}, which follows it. Move {other} first."


def _too_short(visit: Visit, kept: list[tuple[Day, Run]]) -> str:
    longest = max((min(b, run.close) - max(a, run.open) for day, run in kept for a, b in day.windows), default=0)
    return (
        f"The work takes {minutes(visit.seconds)}; its longest window inside a run's hours is "
        f"{minutes(max(0, longest))}. Widen the hours, or plan less work."
    )


def _no_run(visit: Visit, runs: list[Run]) -> str:
    """What bars the visit from every run that is out at the right time."""
    vans = sorted({run.van for run in runs})
    if visit.vans is not None and not set(vans) & set(visit.vans):
        wanted = ", ".join(visit.vans) or "no van"
        return f"It is for {wanted}; only {', '.join(vans)} is out on its days. Allow another van."
    fit = [run for run in runs if visit.vans is None or run.van in visit.vans]
    lacking = sorted({need for run in fit for need in visit.needs if need not in run.has})
    if lacking and not any(set(visit.needs) <= set(run.has) for run in fit):
        return f"No run on its days has {', '.join(lacking)}. Send one that has, or drop the need."
    if all(visit.water_l > run.water_l for run in fit):
        return f"It draws {visit.water_l} litres, more than any tank on its days. Use the household's tap."
    if all(run.power_wh is not None and visit.power_wh > run.power_wh for run in fit):
        return f"It draws {visit.power_wh} Wh, more than any battery on its days. Use the household's plug."
    if all(run.noise_percent is not None and visit.noise_percent > run.noise_percent for run in fit):
        return f"Its noise is {visit.noise_percent} %, more than any run on its days may have. Dry it more quietly."
    opens, closes = min(run.open for run in fit), max(run.close for run in fit)
    return (
        f"Even alone, no run can reach it, do it and be back within its hours ({clock(opens)} to {clock(closes)} "
        "at the widest), tank and break. Widen its window, or lengthen the run."
    )


def _no_room(draft: Draft, visit: Visit, runs: list[int]) -> str:
    dates = sorted({draft.table.problem.runs[r].date.isoformat() for r in runs})
    shown = ", ".join(dates[:3]) + (f" and {len(dates) - 3} more" if len(dates) > 3 else "")
    return (
        f"The {minutes(visit.seconds)} of work fit no run on its days ({shown}) beside what is planned there. "
        "Move another visit, lengthen a run, or allow other days."
    )
