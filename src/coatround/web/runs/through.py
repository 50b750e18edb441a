"""Noise and battery through a run, as expected: a picture, and the same for each visit."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from coatround.core.run import DayNow, StopNow
from coatround.core.trade.figures import Own, figure
from coatround.core.trade.hearing import Rule, Segment, dose
from coatround.core.trade.own_day import DRYER_SHARE
from coatround.core.units import HOUR, MINUTE
from coatround.web.base.picture import Drawn, Picture, picture
from coatround.web.base.templatetags.coatround import clock


def dose_line(stops: Sequence[StopNow], leave: int, back: int, rule: Rule, own: Own) -> tuple[tuple[float, float], ...]:
    """(seconds, percent of a day's dose so far) along a run, three tenths of the work taken as dryer."""
    loud, rest = figure(own, "dryer"), figure(own, "other")
    points, segments = [(float(leave), 0.0)], []
    for stop in stops:
        if stop.plan.kind == "visit" and stop.end > stop.start and stop.state != "not done":
            points.append((float(stop.start), points[-1][1]))
            minutes = (stop.end - stop.start) / MINUTE
            dryer = minutes * DRYER_SHARE
            segments += [Segment(loud, dryer), Segment(rest, minutes - dryer)]
            points.append((float(stop.end), dose(rule, segments).percent))
    points.append((max(float(back), points[-1][0]), points[-1][1]))
    return tuple(points)


def through_picture(day: DayNow, noise: Sequence[tuple[float, float]], battery_wh: int | None) -> Picture | None:
    """Noise so far, and what is left of the battery where one is known, in percent; None for a run without work."""
    if noise[-1][1] <= 0:
        return None
    top = max(100.0, noise[-1][1])
    drawn = [Drawn("line", noise), Drawn("limit", [(noise[0][0], 100), (noise[-1][0], 100)])]
    words = _("The noise dose so far as a line, to %(dose)d percent of a day at the end; a broken line at 100.") % {
        "dose": noise[-1][1]
    }
    if battery_wh and day.power:
        left = [(float(at), 100 * level / battery_wh) for at, level in day.power]
        drawn.append(Drawn("other", left))
        words += " " + _("What is left of the battery as a dashed line, to %(left)d percent.") % {"left": left[-1][1]}
    middle = (noise[0][0] + noise[-1][0]) / 2 // HOUR * HOUR
    ends = [(at, clock(int(at))) for at in dict.fromkeys((noise[0][0], middle, noise[-1][0]))]
    marks = [(0.0, "0 %"), (100.0, "100 %"), *([(top, f"{top:.0f} %")] if top > 130 else [])]
    return picture(drawn, _("Noise and battery through the run"), words, x_words=ends, y_words=marks)
