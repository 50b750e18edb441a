"""Every gap of the runs that stand, laid out for numpy: where one more visit fits, and what each place costs.

The runs keep their order, and every visit the window in which it starts now. Each stretch of a run is kept as when it
may begin and how long it takes at least; two stretches and what goes between them are joined by a few additions, so
all gaps of a firm are tried at once. Times are seconds, costs UNIT-ths of a cent.

The joining of stretches: Vidal, Crainic, Gendreau and Prins (2013), "A hybrid genetic algorithm with adaptive diversity
management for a large class of vehicle routing problems with time windows", section 4.
"""

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coatround.core.rounds.cost import UNIT, drive_units, overtime_units, run_units
from coatround.core.rounds.gap_rows import EVER, GapRow, Stretch, gap_rows, stays_of
from coatround.core.rounds.plan import Plan, PlannedRun
from coatround.core.rounds.problem import Problem, Visit
from coatround.core.rounds.table import may_take, pieces_on

Numbers = NDArray[np.int64]

PLAIN, BEFORE, AFTER = range(3)
"""Without a new refill, with one just before the visit, with one just after it."""


@dataclass(frozen=True, slots=True)
class Way:
    """The drives from each place of the problem to the new visit's and back: seconds and metres, in their order."""

    seconds_to: Numbers
    seconds_from: Numbers
    metres_to: Numbers
    metres_from: Numbers


def way_of_place(problem: Problem, place: str) -> Way:
    """The drives to and from a place of the problem. ValueError if `problem.travel` is None."""
    if problem.travel is None:
        raise ValueError("problem.travel is None, expected the travel times between the places")
    at = next(n for n, one in enumerate(problem.places) if one.id == place)
    seconds, metres = np.array(problem.travel.seconds), np.array(problem.travel.metres)
    return Way(seconds[:, at], seconds[at], metres[:, at], metres[at])


@dataclass(frozen=True, slots=True)
class Gap:
    """A place for one more visit: before stop number `at` of a run, when its work starts, what it costs more.

    `units` is the whole extra cost with the day's own. `refill` is a place to fill at that is new, just before the
    visit or, if `refill_after`, just after it. `leave` and `back` are the run's with it, `litres_left` what is in the
    tank when the work is done. `slack_seconds` is how much later the work could start, all after it still in time.
    """

    run: str
    van: str
    date: dt.date
    at: int
    start: int
    leave: int
    back: int
    units: int
    drive_seconds: int
    drive_metres: int
    overtime_seconds: int
    slack_seconds: int
    litres_left: int
    refill: str = ""
    refill_after: bool = False


@dataclass(frozen=True, slots=True)
class _Tried:
    """Gaps tried in one way: their numbers, what each costs more, and the whole run with the visit."""

    gaps: Numbers
    units: Numbers
    whole: Stretch
    drive: Numbers
    metres: Numbers
    kind: int
    taps: Numbers
    early: Numbers
    late: Numbers


class Gaps:
    """The gaps of a plan's runs, empty runs included. ValueError if `problem.travel` is None."""

    def __init__(self, problem: Problem, plan: Plan) -> None:
        if problem.travel is None:
            raise ValueError("problem.travel is None, expected the travel times between the places")
        self.problem, runs = problem, problem.runs
        self.seconds, self.metres = np.array(problem.travel.seconds), np.array(problem.travel.metres)
        visits = {visit.id: visit for visit in problem.visits}
        standing = {run.id: run for run in plan.runs}
        number = {place.id: at for at, place in enumerate(problem.places)}
        self.stays = [stays_of(run, standing.get(run.id), visits, number) for run in runs]
        rows = [row for r, run in enumerate(runs) for row in gap_rows(r, run, self.stays[r], number, self.seconds)]
        self.gap = GapRow(*(np.array(column, dtype=np.int64) for column in zip(*rows, strict=True))) if rows else None
        planned = [[visits[one] for one in standing[run.id].visit_ids] if run.id in standing else [] for run in runs]
        self.gap_home = [number[run.start_place] for run in runs]
        self.paid = np.array([run.paid_seconds for run in runs])
        self.most_over = np.array([run.max_overtime_seconds for run in runs])
        self.over_now = np.array([_over_now(standing, run.id, run.paid_seconds) for run in runs])
        self.full = np.array([run.water_l for run in runs])
        self.rest_from = np.array([run.break_.from_ if run.break_ else EVER for run in runs])
        self.rest_to = np.array([run.break_.to if run.break_ else EVER for run in runs])
        both = list(zip(runs, self.stays, planned, strict=True))
        self.has_break = np.array([run.break_ is None or any(stay.rest for stay in stays) for run, stays, _ in both])
        self.power = np.array([_left(run.power_wh, [visit.power_wh for visit in own]) for run, _, own in both])
        self.noise = np.array(
            [_left(run.noise_percent, [visit.noise_percent for visit in own]) for run, _, own in both]
        )
        taps = max((len(run.refills) for run in runs), default=0)
        self.taps = np.full((len(runs), taps), -1)
        self.tap_seconds = np.zeros((len(runs), taps), dtype=np.int64)
        for r, run in enumerate(runs):
            for n, tap in enumerate(run.refills):
                self.taps[r, n], self.tap_seconds[r, n] = number[tap.place], tap.seconds

    def best(self, visit: Visit, way: Way, most: int = 10, a_date: int | None = None) -> tuple[Gap, ...]:
        """The cheapest gaps for a visit, cheapest first; at most `a_date` of one date where that is given."""
        tried = [one for window in self._windows(visit) for one in self._tried(visit, way, *window)]
        if not tried:
            return ()
        units, gaps = np.concatenate([one.units for one in tried]), np.concatenate([one.gaps for one in tried])
        source = np.concatenate([np.full(len(one.gaps), n) for n, one in enumerate(tried)])
        within = np.concatenate([np.arange(len(one.gaps)) for one in tried])
        found: list[Gap] = []
        seen: set[int] = set()
        for i in np.lexsort((gaps, units)):
            if len(found) >= most:
                break
            if (g := int(gaps[i])) in seen:
                continue
            seen.add(g)
            gap = self._gap(visit, way, tried[int(source[i])], int(within[i]))
            if a_date is None or sum(one.date == gap.date for one in found) < a_date:
                found.append(gap)
        return tuple(found)

    def _windows(self, visit: Visit) -> Iterator[tuple[Numbers, Numbers, Numbers]]:
        """For each window number: when work may start on each run (late before early is never), the day's cents."""
        days, runs = {day.date: day for day in visit.days}, self.problem.runs
        starts = [
            pieces_on(visit, days[run.date], run) if run.date in days and may_take(run, visit) else () for run in runs
        ]
        day_cents = np.array([days[run.date].cents if run.date in days else 0 for run in runs])
        for n in range(max((len(one) for one in starts), default=0)):
            early = np.array([one[n][0] if len(one) > n else 1 for one in starts])
            late = np.array([one[n][1] if len(one) > n else 0 for one in starts])
            yield early, late, day_cents + np.array([one[n][2] if len(one) > n else 0 for one in starts])

    def _tried(self, visit: Visit, way: Way, early: Numbers, late: Numbers, cents: Numbers) -> Iterator[_Tried]:
        """All gaps where the visit may go: without a refill where the tank allows it, else with one."""
        gap = self.gap
        if gap is None:
            return
        may = (early <= late) & (visit.power_wh <= self.power) & (visit.noise_percent <= self.noise)
        can = np.flatnonzero(may[gap.run] & (gap.low <= visit.rank) & (visit.rank <= gap.high))
        run = gap.run[can]
        fits = gap.used_l[can] + gap.rest_l[can] + visit.water_l <= gap.level[can]
        plain = can[fits]
        yield self._one_way(visit, way, plain, early, late, cents, PLAIN, np.zeros_like(plain))
        filled = ~fits & (gap.refills[can] > 0)
        before = filled & (gap.rest_l[can] + visit.water_l <= self.full[run])
        after = filled & (gap.used_l[can] + visit.water_l <= gap.level[can])
        for kind, may_fill in ((BEFORE, before), (AFTER, after)):
            which, taps = np.nonzero(self.taps[run[may_fill]] >= 0)
            if len(which):
                yield self._one_way(visit, way, can[may_fill][which], early, late, cents, kind, taps)

    def _one_way(
        self,
        visit: Visit,
        way: Way,
        g: Numbers,
        early: Numbers,
        late: Numbers,
        cents: Numbers,
        kind: int,
        taps: Numbers,
    ) -> _Tried:
        """What these gaps cost, the impossible ones dropped."""
        gap, costs = self.gap, self.problem.costs
        assert gap is not None
        run = gap.run[g]
        whole, drive, metres = self._joined(visit, way, g, early[run], late[run], kind, taps)
        over = np.maximum(0, whole.long - self.paid[run])
        due = (whole.late <= self.rest_from[run]) & (whole.early + whole.long >= self.rest_to[run])
        able = np.flatnonzero(whole.possible & (over <= self.most_over[run]) & (self.has_break[run] | ~due))
        used = gap.is_used[g] > 0
        drive = drive - np.where(used, self.seconds[gap.start[g], gap.end[g]], 0)
        metres = metres - np.where(used, self.metres[gap.start[g], gap.end[g]], 0)
        units = drive_units(costs, 1, 0) * drive + drive_units(costs, 0, 1) * metres + UNIT * cents[run]
        units += overtime_units(costs, 1) * (over - self.over_now[run]) + np.where(used, 0, run_units(costs))
        return _Tried(g[able], units[able], whole.of(able), drive[able], metres[able], kind, taps[able], early, late)

    def _joined(
        self, visit: Visit, way: Way, g: Numbers, early: Numbers, late: Numbers, kind: int, taps: Numbers
    ) -> tuple[Stretch, Numbers, Numbers]:
        """Each run with the visit in its gap, and what it drives from the stop before to the stop after."""
        gap = self.gap
        assert gap is not None
        run, start, end = gap.run[g], gap.start[g], gap.end[g]
        ahead, behind = Stretch.of_rows(gap.ahead(g)), Stretch.of_rows(gap.behind(g))
        own = Stretch(early, late, np.full(len(g), visit.seconds), np.ones(len(g), dtype=bool))
        if kind == PLAIN:
            there, on = way.seconds_to[start], way.seconds_from[end]
            metres = way.metres_to[start] + way.metres_from[end]
            return ahead.then(there, own).then(on, behind), there + on, metres
        at, filling = self.taps[run, taps], self.tap_seconds[run, taps]
        fill = Stretch(np.zeros_like(at), np.full(len(g), EVER), filling, np.ones(len(g), dtype=bool))
        if kind == BEFORE:
            legs = self.seconds[start, at], way.seconds_to[at], way.seconds_from[end]
            metres = self.metres[start, at] + way.metres_to[at] + way.metres_from[end]
            return ahead.then(legs[0], fill).then(legs[1], own).then(legs[2], behind), sum(legs[1:], legs[0]), metres
        legs = way.seconds_to[start], way.seconds_from[at], self.seconds[at, end]
        metres = way.metres_to[start] + way.metres_from[at] + self.metres[at, end]
        return ahead.then(legs[0], own).then(legs[1], fill).then(legs[2], behind), sum(legs[1:], legs[0]), metres

    def _gap(self, visit: Visit, way: Way, tried: _Tried, i: int) -> Gap:
        """One gap for people: its own times reckoned from the latest leave that keeps the day as short."""
        gap = self.gap
        assert gap is not None
        g = int(tried.gaps[i])
        r, at = int(gap.run[g]), int(gap.at[g])
        run, long = self.problem.runs[r], int(tried.whole.long[i])
        leave = int(tried.whole.late[i])
        if not self.has_break[r] and leave <= self.rest_from[r] and leave + long >= self.rest_to[r]:
            leave = min(leave, int(self.rest_to[r]) - long - 1)
        refill = run.refills[int(tried.taps[i])] if tried.kind != PLAIN else None
        start, slack = self._times(visit, way, tried, i, leave)
        left = int(self.full[r] if tried.kind == BEFORE else gap.level[g] - gap.used_l[g]) - visit.water_l
        return Gap(
            run=run.id,
            van=run.van,
            date=run.date,
            at=at,
            start=start,
            leave=leave,
            back=leave + long,
            units=int(tried.units[i]),
            drive_seconds=int(tried.drive[i]),
            drive_metres=int(tried.metres[i]),
            overtime_seconds=max(0, long - run.paid_seconds) - int(self.over_now[r]),
            slack_seconds=slack,
            litres_left=left,
            refill=refill.place if refill else "",
            refill_after=tried.kind == AFTER,
        )

    def _times(self, visit: Visit, way: Way, tried: _Tried, i: int, leave: int) -> tuple[int, int]:
        """When the work starts after leaving at `leave`, and how much later it could with all after it in time."""
        gap = self.gap
        assert gap is not None
        g = int(tried.gaps[i])
        r, free, here = int(gap.run[g]), leave, int(self.gap_home[int(gap.run[g])])
        for stay in self.stays[r][: int(gap.at[g])]:
            free = max(free + int(self.seconds[here, stay.place]), stay.early) + stay.seconds
            if stay.rest is not None:
                free = max(free, stay.rest[0]) + stay.rest[2]
            here = stay.place
        n, end = int(tried.taps[i]), int(gap.end[g])
        tap = int(self.taps[r, n]) if tried.kind != PLAIN else -1
        if tried.kind == BEFORE:
            free += int(self.seconds[here, tap]) + int(self.tap_seconds[r, n])
            here = tap
        start = max(free + int(way.seconds_to[here]), int(tried.early[r]))
        on = int(way.seconds_from[end])
        if tried.kind == AFTER:
            on = int(way.seconds_from[tap]) + int(self.tap_seconds[r, n]) + int(self.seconds[tap, end])
        latest = min(int(tried.late[r]), int(gap.behind_late[g]) - on - visit.seconds)
        return start, latest - start


def _over_now(standing: Mapping[str, PlannedRun], run: str, paid: int) -> int:
    planned = standing.get(run)
    return max(0, planned.back - planned.leave - paid) if planned else 0


def _left(limit: int | None, drawn: Sequence[int]) -> int:
    return EVER if limit is None else limit - sum(drawn)
