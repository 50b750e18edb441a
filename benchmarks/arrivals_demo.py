"""How often arrival windows hold on the demo's second year, which nothing was learnt from.

    COATROUND_HOME=FOLDER python benchmarks/arrivals_demo.py

FOLDER is a home with the demo in it (`coatround demo --home FOLDER --no-serve`). The spreads of drives and works and
the correction are learnt from the records of the first year alone; then every run of the second year gets its
windows, and what the records say of its arrivals is held against them. The demo's people, drives and lateness are
invented, by rules of its own: this shows that learning and measuring fit together, not how real vans run.
"""

import datetime as dt
import os
import statistics
import sys
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

from cpu_planning import commit


def main() -> int:
    if not os.environ.get("COATROUND_HOME"):
        print("no home: set COATROUND_HOME to a folder with the demo in it", file=sys.stderr)
        return 2
    from coatround.start import use_home

    use_home(None)
    from coatround.core.learn.drives import learn
    from coatround.core.learn.works import work_spread
    from coatround.core.rounds.held import corrected, held
    from coatround.web.base.firm import firm_today, the_firm
    from coatround.web.rounds import arriving, drives_seen
    from coatround.web.rounds.models import Run

    firm = the_firm()
    times = drives_seen.FirmTimes(
        firm.zone, dt.timedelta(seconds=firm.setting_up_seconds), dt.timedelta(seconds=firm.packing_up_seconds)
    )
    first, last = Run.objects.order_by("date").values_list("date", flat=True)[0], firm_today() - dt.timedelta(days=1)
    half = first + (last - first) / 2
    drives_seen.LOOK_BACK = half - first
    by_road = any(drives_seen.drives_seen(half, times, by_road=True).drives)
    learnt = learn(one.seen for one in drives_seen.drives_seen(half, times, by_road=by_road).drives)
    spreads = arriving.Spreads(learnt, work_spread(arriving.works_between(first, half, times)))
    before = arriving.came_between(first, half, times, spreads)
    correction = corrected([one.happened for one in before])
    after = arriving.came_between(half, last + dt.timedelta(days=1), times, spreads, correction.factor)
    print(f"{dt.date.today()}, commit {commit()}: learnt from {first} to {half}, held against {half} to {last}")
    factor = f"{correction.factor:.2f} from {correction.arrivals} arrivals on {correction.runs} runs"
    print(f"drive spread {learnt.spread:.3f}, work spread {spreads.work:.3f}, correction {factor}")
    at = [one.happened.at for one in after]
    shares = {}
    for name in ("window_80", "window_95", "told"):
        found = held([getattr(one.happened.arrival, name) for one in after], at)
        shares[name] = found.inside / max(1, found.count)
        print(f"{name}: {100 * shares[name]:.1f} % of {found.count} ({100 * found.low:.1f} to {100 * found.high:.1f})")
    hours = defaultdict(list)
    for one in after:
        from_, until = one.happened.arrival.window_80
        hours[one.happened.arrival.median // 3600].append(from_ <= one.happened.at <= until)
    print(
        "80 % window by hour: "
        + ", ".join(f"{h}: {100 * statistics.fmean(hours[h]):.0f} % of {len(hours[h])}" for h in sorted(hours))
    )
    told = [one for one in after if one.told]
    kept = sum(one.told[0] <= one.happened.at <= one.told[1] for one in told if one.told)
    print(f"windows that households were told: {kept} of {len(told)} held")
    return 0 if 0.75 <= shares["window_80"] <= 0.85 else 1


if __name__ == "__main__":
    raise SystemExit(main())
