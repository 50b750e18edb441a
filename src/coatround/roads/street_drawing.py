"""A tile of streets drawn as SVG: ground, water, roads with casings, names along them; light and dark."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise
from xml.sax.saxutils import escape

from coatround.roads.street_kinds import AREAS, AROUND, DARK, KINDS, LIGHT, SIDE, Line, Spot, width_at
from coatround.roads.street_names import Label

MOST_BYTES = 60_000
FINE = 4
"""Points are drawn to a quarter of a pixel."""
THIN = 2.2
"""Roads narrower than this many pixels are one line without a casing."""
CASING = 1.8
FONT = 'font-family="system-ui,Roboto,sans-serif" text-anchor="middle" stroke-width="3.5" paint-order="stroke"'


def draw(z: int, lines: Sequence[Line], labels: Iterable[Label], *, dark: bool) -> str:
    """The tile as SVG text; what matters least is left out of one that would be too big."""
    look = DARK if dark else LIGHT
    names = _names(labels, look)
    for last_rank in (9, 6, 5, 4, 3, 2, 1, 0):
        shapes = _shapes(z, [line for line in lines if KINDS[line.kind].rank <= last_rank], look)
        if len(shapes) + len(names) < MOST_BYTES:
            break
    else:
        shapes = ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIDE} {SIDE}" width="{SIDE}" height="{SIDE}">'
        f'<rect width="{SIDE}" height="{SIDE}" fill="{look["ground"]}"/>{shapes}{names}</svg>'
    )


def _shapes(z: int, lines: Iterable[Line], look: dict[str, str]) -> str:
    """Every kind as one path, so that its pieces meet without a seam: areas, then edges, then the roads themselves."""
    paths: dict[str, list[str]] = defaultdict(list)
    for line in lines:
        if line.kind in AREAS:
            paths[line.kind] += [f"{path}z" for path in [_path(line.spots)] if path]
        else:
            paths[line.kind] += map(_path, _within(line.spots))
    kinds = [kind for kind in KINDS if any(paths.get(kind, ()))]
    layers = [_layer(kind, z, "".join(paths[kind]), look, edge=edge) for edge in (True, False) for kind in kinds]
    drawn = "".join(layers)
    return (
        f'<g transform="scale({1 / FINE})" fill="none" stroke-linecap="round" stroke-linejoin="round">{drawn}</g>'
        if drawn
        else ""
    )


def _layer(kind: str, z: int, path: str, look: dict[str, str], *, edge: bool) -> str:
    """One kind's path, either what lies below the roads (water, their edges), or the roads."""
    name, width = KINDS[kind].look, width_at(kind, z)
    if kind in AREAS:
        return f'<path d="{path}" fill="{look[name]}"/>' if edge else ""
    if name == "water":
        return _stroke(path, look[name], width) if edge else ""
    if name == "dashes":
        return "" if edge else _stroke(path, look[name], width, ' stroke-dasharray="20 16" stroke-linecap="butt"')
    if width < THIN:
        thin = "road casing" if look is LIGHT else "road"
        return "" if edge else _stroke(path, look[thin.replace("road", name)], width)
    return _stroke(path, look[f"{name} casing"], width + CASING) if edge else _stroke(path, look[name], width)


def _stroke(path: str, colour: str, width: float, more: str = "") -> str:
    return f'<path d="{path}" stroke="{colour}" stroke-width="{width * FINE:.0f}"{more}/>'


def _path(spots: Sequence[Spot]) -> str:
    """Points as steps from one to the next, the shortest way to write them; empty for what is a single dot."""
    (x, y), parts = (round(spots[0][0] * FINE), round(spots[0][1] * FINE)), []
    parts.append(f"M{x} {y}l")
    for across, down in spots[1:]:
        to_x, to_y = round(across * FINE), round(down * FINE)
        if (to_x, to_y) != (x, y):
            parts.append(f"{to_x - x} {to_y - y} ")
            x, y = to_x, to_y
    return "".join(parts).rstrip().replace(" -", "-") if len(parts) > 1 else ""


def _within(spots: Sequence[Spot]) -> list[list[Spot]]:
    """The parts of a line that are on the tile or close to it."""
    parts: list[list[Spot]] = []
    before: Spot | None = None
    for start, end in pairwise(spots):
        if not _is_near(start, end):
            continue
        if before is start:
            parts[-1].append(end)
        else:
            parts.append([start, end])
        before = end
    return parts


def _is_near(start: Spot, end: Spot) -> bool:
    low, high = -AROUND, SIDE + AROUND
    (x, y), (to_x, to_y) = start, end
    return not (
        (x < low and to_x < low) or (x > high and to_x > high) or (y < low and to_y < low) or (y > high and to_y > high)
    )


def _names(labels: Iterable[Label], look: dict[str, str]) -> str:
    texts = "".join(_text(label, look) for label in labels)
    return f'<g {FONT} stroke="{look["ground"]}" fill="{look["name"]}">{texts}</g>' if texts else ""


def _text(label: Label, look: dict[str, str]) -> str:
    across, down = label.middle
    turn = f" rotate({label.slope:.0f})" if round(label.slope) else ""
    colour = "" if label.look == "name" else f' fill="{look[label.look]}"'
    where = f'transform="translate({across:.0f} {down:.0f}){turn}" y="{label.size * 0.35:.0f}"'
    words = escape("".join(letter for letter in label.name if letter.isprintable()))
    return f'<text {where} font-size="{label.size}"{colour}>{words}</text>'
