"""The checker's look at one planned run: times, windows, tank, power, noise, ranks, refills and break."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from coatround.core.rounds.fault import Fault
from coatround.core.rounds.plan import BreakStop, PlannedRun, RefillStop, Stop, VisitStop
from coatround.core.rounds.problem import Problem, Run, Visit


@dataclass(slots=True)
class Tally:
    """What the cost is made of, added up over the runs as they are checked."""

    drive_seconds: int = 0
    drive_metres: int = 0
    overtime_seconds: int = 0
    runs: int = 0
    day_cents: int = 0


def faults_of_run(
    problem: Problem,
    run: Run,
    planned: PlannedRun,
    visits: Mapping[str, Visit],
    places: Mapping[str, int],
    tally: Tally,
) -> list[Fault]:
    """What breaks in one planned run; adds its drive, overtime and day cents to `tally`."""
    known = [visits[v] for v in planned.visit_ids if v in visits]
    faults = [
        Fault("unknown_visit", run.id, f"the problem has no visit {v}") for v in planned.visit_ids if v not in visits
    ]
    faults += _faults_of_drive(problem, run, planned, visits, places, tally)
    faults += _faults_of_hours(run, planned, tally)
    for stop in planned.stops:
        if isinstance(stop, VisitStop) and stop.visit in visits:
            faults += _faults_of_work(run, visits[stop.visit], stop, tally)
    faults += _faults_of_sums(run, known)
    faults += _faults_of_tank(run, planned, visits)
    faults += _faults_of_break(run, planned)
    return faults


def _faults_of_drive(
    problem: Problem,
    run: Run,
    planned: PlannedRun,
    visits: Mapping[str, Visit],
    places: Mapping[str, int],
    tally: Tally,
) -> Iterator[Fault]:
    """Follows the van from place to place; each arrival is the last end plus the travel, to the second."""
    assert problem.travel is not None
    here, free = places[run.start_place], planned.leave
    for stop in planned.stops:
        if isinstance(stop, BreakStop):
            free = stop.end
            continue
        there = _place_of(stop, visits, places)
        if there is None:
            # An unknown visit is reported on its own; what follows is measured from where it says it ended.
            free = stop.end
            continue
        yield from _faults_of_arrival(run, stop, free + problem.travel.seconds[here][there])
        tally.drive_seconds += problem.travel.seconds[here][there]
        tally.drive_metres += problem.travel.metres[here][there]
        here, free = there, stop.end
    home = places[run.end_place]
    back = free + problem.travel.seconds[here][home]
    tally.drive_seconds += problem.travel.seconds[here][home]
    tally.drive_metres += problem.travel.metres[here][home]
    if planned.back != back:
        yield Fault("wrong_travel", run.id, f"{run.id} is back at {_at(back)}, the plan says {_at(planned.back)}")


def _place_of(stop: VisitStop | RefillStop, visits: Mapping[str, Visit], places: Mapping[str, int]) -> int | None:
    if isinstance(stop, RefillStop):
        return places.get(stop.refill)
    return places[visits[stop.visit].place] if stop.visit in visits else None


def _faults_of_arrival(run: Run, stop: VisitStop | RefillStop, expected: int) -> Iterator[Fault]:
    if stop.arrive == expected:
        return
    name = _name(stop)
    early = "too early" if stop.arrive < expected else "too late"
    yield Fault(
        "wrong_travel",
        run.id,
        f"{name}: arrives {_at(stop.arrive)}, {early}: the last end plus the drive is {_at(expected)}",
    )


def _faults_of_hours(run: Run, planned: PlannedRun, tally: Tally) -> Iterator[Fault]:
    if planned.leave < run.open:
        yield Fault("leaves_early", run.id, f"{run.id} leaves {_at(planned.leave)}, it opens at {_at(run.open)}")
    if planned.back > run.close:
        yield Fault("late_back", run.id, f"{run.id} is back {_at(planned.back)}, it closes at {_at(run.close)}")
    if planned.back < planned.leave:
        yield Fault("times_out_of_order", run.id, f"{run.id} is back before it leaves")
    over = max(0, planned.back - planned.leave - run.paid_seconds)
    if over > run.max_overtime_seconds:
        yield Fault("overtime", run.id, f"{over} seconds of overtime, at most {run.max_overtime_seconds} are allowed")
    tally.overtime_seconds += over
    tally.runs += 1 if planned.stops else 0


def _faults_of_work(run: Run, visit: Visit, stop: VisitStop, tally: Tally) -> Iterator[Fault]:
    if stop.start < stop.arrive:
        yield Fault("starts_before_arrival", run.id, f"{visit.id} starts before the van is there")
    if stop.end - stop.start < visit.seconds:
        yield Fault("work_cut_short", run.id, f"{visit.id} gets {stop.end - stop.start} of {visit.seconds} seconds")
    if stop.end - stop.start > visit.seconds:
        yield Fault("work_too_long", run.id, f"{visit.id} gets {stop.end - stop.start}, needs {visit.seconds} seconds")
    if visit.vans is not None and run.van not in visit.vans:
        yield Fault("wrong_van", run.id, f"{visit.id} is for van {', '.join(visit.vans)}, not {run.van}", visit.id)
    lacking = [need for need in visit.needs if need not in run.has]
    if lacking:
        yield Fault("needs", run.id, f"{visit.id} needs {', '.join(lacking)}, which {run.id} has not", visit.id)
    day = next((day for day in visit.days if day.date == run.date), None)
    if day is None:
        yield Fault("wrong_day", run.id, f"{visit.id} may not fall on {run.date.isoformat()}", visit.id)
        return
    tally.day_cents += day.cents
    if day.kept is not None and (stop.start < day.kept.from_ or stop.start > day.kept.to):
        tally.day_cents += day.kept.cents
    if not any(start <= stop.start and stop.end <= end for start, end in day.windows):
        yield Fault(
            "outside_window",
            run.id,
            f"{visit.id} is worked on {_at(stop.start)} to {_at(stop.end)}, expected inside {_windows(day.windows)}",
            visit.id,
        )


def _faults_of_sums(run: Run, visits: list[Visit]) -> Iterator[Fault]:
    power = sum(visit.power_wh for visit in visits)
    if run.power_wh is not None and power > run.power_wh:
        yield Fault("power", run.id, f"{run.id} draws {power} Wh, it has {run.power_wh}")
    noise = sum(visit.noise_percent for visit in visits)
    if run.noise_percent is not None and noise > run.noise_percent:
        yield Fault("noise", run.id, f"{run.id} adds up to {noise} % noise, it may have {run.noise_percent}")
    for before, after in pairwise(visits):
        if after.rank < before.rank:
            words = f"{after.id} (rank {after.rank}) comes after {before.id} (rank {before.rank})"
            yield Fault("rank", run.id, words, after.id)


def _faults_of_tank(run: Run, planned: PlannedRun, visits: Mapping[str, Visit]) -> Iterator[Fault]:
    water = run.water_l if run.water_at_start_l is None else run.water_at_start_l
    seconds = {refill.place: refill.seconds for refill in run.refills}
    refills = 0
    for stop in planned.stops:
        if isinstance(stop, RefillStop):
            refills += 1
            water = run.water_l
            yield from _faults_of_refill(run, stop, seconds)
        elif isinstance(stop, VisitStop) and stop.visit in visits:
            water -= visits[stop.visit].water_l
            if water < 0:
                yield Fault("tank_dry", run.id, f"the tank is {-water} litres short at {stop.visit}", stop.visit)
                water = 0
    if refills > run.max_refills:
        yield Fault("too_many_refills", run.id, f"{refills} refills, at most {run.max_refills} are allowed")


def _faults_of_refill(run: Run, stop: RefillStop, seconds: Mapping[str, int]) -> Iterator[Fault]:
    if stop.refill not in seconds:
        yield Fault("wrong_refill_place", run.id, f"{run.id} cannot refill at {stop.refill}")
    elif stop.end - stop.arrive != seconds[stop.refill]:
        yield Fault(
            "refill_length",
            run.id,
            f"the refill at {stop.refill} takes {seconds[stop.refill]} seconds, "
            f"the plan gives {stop.end - stop.arrive}",
        )


def _faults_of_break(run: Run, planned: PlannedRun) -> Iterator[Fault]:
    taken = [(i, stop) for i, stop in enumerate(planned.stops) if isinstance(stop, BreakStop)]
    if run.break_ is None:
        if taken:
            yield Fault("break_not_asked", run.id, f"{run.id} has no break, the plan takes one")
        return
    rest = run.break_
    due = planned.leave <= rest.from_ and planned.back >= rest.to
    if due and not taken:
        yield Fault("break_missing", run.id, f"a break is due between {_at(rest.from_)} and {_at(rest.to)}")
    if len(taken) > 1:
        yield Fault("break_twice", run.id, f"the break is taken {len(taken)} times")
    for i, stop in taken:
        if stop.seconds != rest.seconds or stop.end - stop.start != rest.seconds:
            yield Fault("break_length", run.id, f"the break lasts {rest.seconds} seconds, no more and no less")
        if stop.start < rest.from_ or stop.end > rest.to:
            yield Fault("break_time", run.id, f"the break lies outside {_at(rest.from_)} to {_at(rest.to)}")
        before = planned.stops[i - 1] if i else None
        if before is None:
            yield Fault("break_not_at_stop", run.id, "the break comes before the first stop")
        elif stop.start < before.end:
            yield Fault("times_out_of_order", run.id, "the break starts before the stop before it ends")


def _name(stop: Stop) -> str:
    match stop:
        case VisitStop():
            return f"visit {stop.visit}"
        case RefillStop():
            return f"refill at {stop.refill}"
        case BreakStop():
            return "break"


def _at(seconds: int) -> str:
    """A clock time to the second, so that a fault of one second shows."""
    return f"{seconds // 3600:02d}:{seconds % 3600 // 60:02d}:{seconds % 60:02d}"


def _windows(windows: tuple[tuple[int, int], ...]) -> str:
    return " or ".join(f"{_at(start)} to {_at(end)}" for start, end in windows) or "no hour of that day"
