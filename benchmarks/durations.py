"""How well minutes are foretold on the demo's second year, which nothing was learnt from.

    COATROUND_HOME=FOLDER python benchmarks/durations.py

FOLDER is a home with the demo in it (`coatround demo --home FOLDER --no-serve`). The demo draws a dog's own pace with a
spread of 20 % and each groom with one of 15 % about it (demo/people.py, demo/layout.py), both fixed before anything is
learnt. What is learnt from the first year alone foretells every groom of the second: against the dog's last time, once
of the first year and once the groom just before, and against the mean of its breed in the first year.
"""

import datetime as dt
import os
import statistics
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

from cpu_planning import commit


def main() -> int:
    if not os.environ.get("COATROUND_HOME"):
        print("no home: set COATROUND_HOME to a folder with the demo in it", file=sys.stderr)
        return 2
    from coatround.start import use_home

    use_home(None)
    from coatround.core.learn.durations import held_back
    from coatround.demo.layout import WITHIN_DOG
    from coatround.demo.people import BETWEEN_DOGS
    from coatround.web.base.firm import firm_today
    from coatround.web.due.minutes import timed_grooms
    from coatround.web.records.models import Dog

    grooms = timed_grooms(firm_today())
    half = grooms[-1].date + (grooms[0].date - grooms[-1].date) / 2
    later = sum(one.date >= half for one in grooms)
    held = held_back([one.groom for one in grooms], later)
    assert held is not None
    breeds = dict(Dog.objects.values_list("pk", "breed"))
    of_breed: dict[str, list[int]] = {}
    for one in grooms[later:]:
        of_breed.setdefault(breeds[one.groom.dog], []).append(one.groom.seconds)
    before = {one.groom.dog: one.groom.seconds for one in reversed(grooms[later:])}
    just_before = dict(before)
    rows = [row for row in held.known if breeds[row.groom.dog] in of_breed]
    errors: dict[str, list[float]] = {"learnt": [], "last of year 1": [], "the one before": [], "breed": []}
    for row in reversed(rows):
        dog, seconds = row.groom.dog, row.groom.seconds
        errors["learnt"].append(abs(row.expected.middle_seconds - seconds))
        errors["last of year 1"].append(abs(before[dog] - seconds))
        errors["the one before"].append(abs(just_before[dog] - seconds))
        errors["breed"].append(abs(statistics.fmean(of_breed[breeds[dog]]) - seconds))
        just_before[dog] = seconds
    print(f"{dt.date.today()}, commit {commit()}: within dog {WITHIN_DOG:.0%}, between dogs {BETWEEN_DOGS:.0%}, fixed")
    print(
        f"learnt from {grooms[-1].date} to {half}, held against {len(held.rows)} grooms from {half} to {grooms[0].date}"
    )
    means = {name: statistics.fmean(some) for name, some in errors.items()}
    for name, mean in means.items():
        print(f"{name}: {mean / 60:.2f} min off on average, learnt is {1 - means['learnt'] / mean:.1%} below")
    print(f"80 % windows held {held.inside:.1%} of {len(held.rows)}")
    well = all(means["learnt"] <= 0.85 * mean for name, mean in means.items() if name != "learnt")
    return 0 if well and 0.77 <= held.inside <= 0.83 else 1


if __name__ == "__main__":
    raise SystemExit(main())
