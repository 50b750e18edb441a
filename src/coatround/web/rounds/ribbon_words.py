"""A ribbon in words: the names on its blocks, what stands between road and tank, and the whole of it as sentences."""

from django.utils.translation import gettext as _

from coatround.core.units import HOUR, MINUTE
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.ribbon_shapes import Block, RibbonRun

AT_ONCE_SECONDS = 5 * MINUTE


def halts_in_words(run: RibbonRun) -> list[tuple[int, int, str]]:
    """Refills and breaks in order; what follows at once shares its words: "fill, break"."""
    halts = [(span.start, span.end, _("fill")) for span in run.refills]
    halts += [(span.start, span.end, _("break")) for span in run.breaks]
    joined: list[tuple[int, int, str]] = []
    for start, end, words in sorted(halts):
        if joined and start - joined[-1][1] <= AT_ONCE_SECONDS:
            joined[-1] = (joined[-1][0], end, f"{joined[-1][2]}, {words}")
        else:
            joined.append((start, end, words))
    return joined


def in_words(run: RibbonRun) -> str:
    """The whole ribbon as sentences, for those who do not see it."""
    parts = [_("Leaves %(leave)s, back %(back)s.") % {"leave": _clock(run.leave), "back": _clock(run.back)}]
    halts = [(span.start, _("Fill"), span) for span in run.refills] + [(s.start, _("Break"), s) for s in run.breaks]
    stops = [(block.start, _block_words(block)) for block in run.blocks]
    stops += [(start, f"{words} {_clock(span.start)} – {_clock(span.end)}.") for start, words, span in halts]
    parts += [words for _start, words in sorted(stops)]
    if run.tank:
        at, litres = min(run.tank, key=lambda point: (point[1], point[0]))
        lowest = {"litres": round(litres), "full": run.tank_l, "clock": _clock(at)}
        parts.append(_("Tank lowest at %(clock)s: %(litres)d of %(full)d litres.") % lowest)
    if run.heat:
        hottest = max(degrees for _at, degrees in run.heat)
        parts.append(_("Up to %(count)d %(degrees)s.") % {"count": round(hottest), "degrees": run.degrees})
    parts += [f"{_clock(hours.start)} – {_clock(hours.end)} {hours.words[0]}." for hours in run.closed if hours.words]
    return " ".join(parts)


def _block_words(block: Block) -> str:
    values = {
        "names": names_in_words(block.names),
        "start": _clock(block.start),
        "end": _clock(block.end),
        "litres": block.litres,
    }
    return _("%(names)s %(start)s – %(end)s, %(litres)d litres.") % values


def _clock(seconds: int) -> str:
    return f"{seconds // HOUR % 24}:{seconds % HOUR // MINUTE:02d}"
