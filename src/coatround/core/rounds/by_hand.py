"""A person's own order: never refused, driven exactly as given, with what breaks and what it costs listed."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from coatround.core.rounds.check import check
from coatround.core.rounds.cost import cost_of
from coatround.core.rounds.fault import Fault
from coatround.core.rounds.plan import BreakStop, Cost, LeftOut, Plan, PlannedRun, RefillStop, Stop, VisitStop
from coatround.core.rounds.problem import Problem, Run, Visit, Window

WAYS_TRIED = 8
"""So many ways to lay refills between visits are driven, the shortest first."""

RESTS_TRIED = 3
"""And of all places for the break with them, so many are looked at closely."""

Stay = Visit | int
"""Where a run stops: a visit, or which of its refills."""

Known = tuple[str, str, str]
"""A fault by its code, where it is and its words."""


@dataclass(frozen=True, slots=True)
class Forced:
    """A run in the order asked for, what breaks in it, and the seconds that work starts too late in all."""

    planned: PlannedRun
    faults: tuple[Fault, ...]
    late_seconds: int


@dataclass(frozen=True, slots=True)
class Shift:
    """A visit that stays on its day and starts at another time; seconds after midnight."""

    visit: str
    before: int
    after: int


@dataclass(frozen=True, slots=True)
class Moved:
    """A whole plan after a move: the faults that were not there before, the cost before, and whose start shifts."""

    plan: Plan
    faults: tuple[Fault, ...]
    before: Cost
    shifts: tuple[Shift, ...] = ()

    @property
    def more_cents(self) -> int:
        """How much dearer the plan is now; below zero when it is cheaper."""
        return self.plan.cost.total - self.before.total


def as_ordered(problem: Problem, run_id: str, order: Sequence[str], leave: int | None = None) -> Forced:
    """Run `run_id` with exactly these visits in exactly this order, whatever breaks.

    Work starts in its windows where it can, else on arrival, late. Refills lie where they lengthen the drive least;
    there is none where the tank cannot be kept anyway. The break is taken where it makes least late. The van leaves at
    `leave`, or as late as it may without being back later. ValueError if `problem.travel` is None.
    """
    if problem.travel is None:
        raise ValueError("problem.travel is None, expected the travel times between the places")
    run = next(run for run in problem.runs if run.id == run_id)
    known = {visit.id: visit for visit in problem.visits}
    way = _Way(problem, run, [known[id_] for id_ in order], {place.id: at for at, place in enumerate(problem.places)})
    drives = [way.driven(stays, at, leave) for stays, at in way.hopeful(run.open if leave is None else leave)]
    if run.break_ and leave is None:
        drives += [way.driven(stays, None, run.break_.from_ + 1) for stays in way.filled()]
    late = min(behind for _, behind in drives)
    only = _only(problem, drives[0][0])
    tried = [(_breaks(only, planned), planned) for planned, behind in drives if behind == late]
    faults, planned = min(tried, key=lambda one: (len(one[0]), one[1].back))
    return Forced(planned, tuple(faults), late)


def _breaks(only: Problem, planned: PlannedRun) -> list[Fault]:
    return check(only, plan_of_runs(only, [planned]))


def _only(problem: Problem, planned: PlannedRun) -> Problem:
    """The part of the problem that one run is about."""
    own = set(planned.visit_ids)
    visits = tuple(replace(visit, follows=None) for visit in problem.visits if visit.id in own)
    return replace(problem, runs=tuple(run for run in problem.runs if run.id == planned.id), visits=visits)


@dataclass(frozen=True, slots=True)
class _Way:
    """The visits of a run in order, with the problem they are of."""

    problem: Problem
    run: Run
    visits: list[Visit]
    number: dict[str, int]

    def seconds(self, start: str, end: str) -> int:
        travel = self.problem.travel
        assert travel is not None
        return travel.seconds[self.number[start]][self.number[end]]

    def filled(self) -> list[list[Stay]]:
        """The visits with the refills that the tank asks for, the few shortest ways; none if they do not help."""
        full = self.run.water_l
        left = full if self.run.water_at_start_l is None else self.run.water_at_start_l
        found = list(self._fillings(0, left, self.run.max_refills))
        found.sort(key=lambda one: (one[0], sum(isinstance(stay, int) for stay in one[1])))
        return [stays for _seconds, stays in found[:WAYS_TRIED]] or [list(self.visits)]

    def _fillings(self, at: int, left: int, refills: int) -> Iterator[tuple[int, list[Stay]]]:
        """Every way to go on from before visit `at` with so many litres and refills left, as (seconds, stays)."""
        if sum(visit.water_l for visit in self.visits[at:]) <= left:
            yield 0, list(self.visits[at:])
            return
        if not refills:
            return
        for until in range(at, len(self.visits)):
            if sum(visit.water_l for visit in self.visits[at:until]) > left:
                return
            seconds, tap = self._nearest_tap(until)
            if tap is None:
                return
            for more, rest in self._fillings(until, self.run.water_l, refills - 1):
                yield seconds + more, [*self.visits[at:until], tap, *rest]

    def _nearest_tap(self, until: int) -> tuple[int, int | None]:
        """The refill that lengthens the way before visit `until` least, and by how many seconds."""
        start = self.visits[until - 1].place if until else self.run.start_place
        end = self.visits[until].place
        ways = (
            (self.seconds(start, tap.place) + tap.seconds + self.seconds(tap.place, end) - self.seconds(start, end), n)
            for n, tap in enumerate(self.run.refills)
        )
        return min(ways, default=(0, None))

    def break_places(self, stays: Sequence[Stay]) -> list[int | None]:
        """After which stop the break may come; None is no break."""
        if self.run.break_ is None or not stays:
            return [None]
        return [None, *range(len(stays))]

    def hopeful(self, leave: int) -> list[tuple[list[Stay], int | None]]:
        """The few ways to lay refills and break that make least late when driven at once, with a break and without."""
        ways = [(stays, at) for stays in self.filled() for at in self.break_places(stays)]
        if len(ways) <= 1:
            return ways
        ranked = sorted(range(len(ways)), key=lambda n: (*self._hope(self._at(*ways[n], leave)), n))
        rested = [ways[n] for n in ranked if ways[n][1] is not None]
        return [*rested[:RESTS_TRIED], *(ways[n] for n in ranked if ways[n][1] is None)][: RESTS_TRIED + 2]

    def _hope(self, driven: tuple[PlannedRun, int]) -> tuple[int, bool, int]:
        """How late, whether the break lies outside its times, when back."""
        planned, late = driven
        rest = self.run.break_
        outside = any(isinstance(stop, BreakStop) and rest is not None and stop.end > rest.to for stop in planned.stops)
        return late, outside, planned.back

    def driven(self, stays: Sequence[Stay], break_after: int | None, leave: int | None) -> tuple[PlannedRun, int]:
        """The run with these stays, and the seconds that work starts too late in all."""
        early = self._at(stays, break_after, self.run.open if leave is None else leave)
        if leave is not None or not stays:
            return early
        return self._at(stays, break_after, early[0].leave + self._may_wait(early[0]))

    def _may_wait(self, planned: PlannedRun) -> int:
        """Seconds that the van may leave later and be back no later: its waits on the way, so far as nobody is late."""
        visits = {visit.id: visit for visit in self.visits}
        free, waited, most = planned.leave, 0, planned.back - planned.leave
        for stop in planned.stops:
            if isinstance(stop, BreakStop):
                waited += stop.start - free
                spare = self.run.break_.to - stop.end if self.run.break_ else 0
                most = min(most, waited + max(0, spare))
            elif isinstance(stop, VisitStop):
                waited += stop.start - stop.arrive
                windows = _windows_on(visits[stop.visit], self.run)
                if windows:
                    spare = max((to for from_, to in windows if from_ <= stop.start), default=0) - stop.end
                    most = min(most, waited + max(0, spare))
            free = stop.end
        return min(most, waited)

    def _at(self, stays: Sequence[Stay], break_after: int | None, leave: int) -> tuple[PlannedRun, int]:
        here, free, late = self.run.start_place, leave, 0
        stops: list[Stop] = []
        for n, stay in enumerate(stays):
            there = self.run.refills[stay].place if isinstance(stay, int) else stay.place
            arrive = free + self.seconds(here, there)
            if isinstance(stay, int):
                free = arrive + self.run.refills[stay].seconds
                stops.append(RefillStop(there, arrive, free))
            else:
                start, behind = _start(_windows_on(stay, self.run), arrive, stay.seconds)
                free, late = start + stay.seconds, late + behind
                stops.append(VisitStop(stay.id, arrive, start, free))
            here = there
            if n == break_after and self.run.break_ is not None:
                begins = max(free, self.run.break_.from_)
                free = begins + self.run.break_.seconds
                stops.append(BreakStop(self.run.break_.seconds, begins, free))
        return PlannedRun(self.run.id, leave, free + self.seconds(here, self.run.end_place), tuple(stops)), late


def _windows_on(visit: Visit, run: Run) -> tuple[Window, ...]:
    return next((day.windows for day in visit.days if day.date == run.date), ())


def _start(windows: Iterable[Window], arrive: int, seconds: int) -> tuple[int, int]:
    """When work starts that arrives then, and how late that is: in the first window that still holds it."""
    last = None
    for opens, closes in windows:
        if closes - opens < seconds:
            continue
        if arrive <= closes - seconds:
            return max(arrive, opens), 0
        last = closes - seconds
    return arrive, arrive - last if last is not None else 0


def moved(problem: Problem, plan: Plan, visit: str, run_id: str, at: int) -> Moved:
    """The plan with a visit put on a run as its stop number `at` (0 is first), off any other; never refused.

    What was left out may be put in too. The runs it touches are driven as ordered, all others stay as they are.
    """
    orders = {run.id: [one for one in run.visit_ids if one != visit] for run in plan.runs}
    touched = {run.id for run in plan.runs if visit in run.visit_ids} | {run_id}
    orders.setdefault(run_id, []).insert(at, visit)
    return with_orders(problem, plan, {run: orders[run] for run in touched})


def without(problem: Problem, plan: Plan, visit: str) -> Plan:
    """The plan with a visit taken out, its run driven in the order that is left."""
    orders = {run.id: [one for one in run.visit_ids if one != visit] for run in plan.runs if visit in run.visit_ids}
    return with_orders(problem, plan, orders).plan


def with_orders(problem: Problem, plan: Plan, orders: dict[str, list[str]]) -> Moved:
    """The plan with these runs in these orders; a run without a visit is not used."""
    known = {run.id: run for run in plan.runs}
    for run, order in orders.items():
        if order:
            known[run] = as_ordered(problem, run, order).planned
        else:
            known.pop(run, None)
    after = plan_of_runs(problem, [known[run.id] for run in problem.runs if run.id in known], plan.left_out)
    return Moved(after, new_faults(problem, after, known_faults(problem, plan)), plan.cost, shifts(plan, after))


def known_faults(problem: Problem, plan: Plan) -> frozenset[Known]:
    """What a plan breaks as it is, to be told from what a change breaks."""
    return frozenset((fault.code, fault.where, fault.words) for fault in check(problem, plan))


def new_faults(problem: Problem, after: Plan, known: frozenset[Known]) -> tuple[Fault, ...]:
    """What a changed plan breaks that is not known already."""
    return tuple(fault for fault in check(problem, after) if (fault.code, fault.where, fault.words) not in known)


def shifts(plan: Plan, after: Plan) -> tuple[Shift, ...]:
    """The visits on the same run as before whose start is another one, in the order of the changed plan."""
    old = {run.id: run for run in plan.runs}
    found = []
    for run in after.runs:
        if run is old.get(run.id):
            continue
        was = starts_of(old[run.id]) if run.id in old else {}
        found += [Shift(id_, was[id_], start) for id_, start in starts_of(run).items() if was.get(id_, start) != start]
    return tuple(found)


def starts_of(run: PlannedRun) -> dict[str, int]:
    """When the work on each visit of a run starts."""
    return {stop.visit: stop.start for stop in run.stops if isinstance(stop, VisitStop)}


def plan_of_runs(problem: Problem, runs: Sequence[PlannedRun], out: Iterable[LeftOut] = ()) -> Plan:
    """A plan of exactly these runs, with its cost; visits on none of them are left out."""
    assert problem.travel is not None
    number = {place.id: at for at, place in enumerate(problem.places)}
    visits, own = {visit.id: visit for visit in problem.visits}, {run.id: run for run in problem.runs}
    legs, overtimes, cents, served = [], [], [], set()
    for planned in runs:
        run = own[planned.id]
        served |= set(planned.visit_ids)
        overtimes.append(max(0, planned.back - planned.leave - run.paid_seconds))
        for stop in planned.stops:
            if isinstance(stop, VisitStop):
                cents += [day.cents_at(stop.start) for day in visits[stop.visit].days if day.date == run.date]
        ways = pairwise(number[place] for place in _places(run, planned, visits))
        legs += [(problem.travel.seconds[a][b], problem.travel.metres[a][b]) for a, b in ways]
    reasons = {left.visit: left for left in out}
    left_out = [visit for visit in problem.visits if visit.id not in served]
    cost = cost_of(problem.costs, legs, overtimes, cents, [visit.left_out_cents for visit in left_out])
    return Plan(cost, tuple(runs), tuple(reasons.get(visit.id) or _left_out(visit) for visit in left_out))


def _left_out(visit: Visit) -> LeftOut:
    return LeftOut(visit.id, "told_broken" if visit.told else "no_room", "")


def _places(run: Run, planned: PlannedRun, visits: dict[str, Visit]) -> Iterator[str]:
    yield run.start_place
    for stop in planned.stops:
        if not isinstance(stop, BreakStop):
            yield stop.refill if isinstance(stop, RefillStop) else visits[stop.visit].place
    yield run.end_place
