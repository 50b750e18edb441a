"""A map of stops, and a map on which a pin is put; without roads in use there is none."""

from typing import Any

from django import template
from django.conf import settings
from django.urls import reverse

from coatround.roads.in_use import Roads, roads_in_use
from coatround.web.roads.map import MapShown, map_data

register = template.Library()
TILE = (101, 102, 103)
"""Numbers that stand for zoom, across and down until the map's script puts its own in."""


def _where_tiles_are(roads: Roads) -> str:
    address = reverse("roads:streets", args=[roads.about.stamp, *TILE])
    return address.replace("/101/102/103.svg", "/{z}/{x}/{y}.svg")


@register.inclusion_tag("roads/map_head.html")
def map_head(*, pin: bool = False) -> dict[str, Any]:
    """What a page with a map, or with a form that asks for a pin, needs in its head."""
    return {"roads": roads_in_use(settings.HOME), "pin": pin}


@register.inclusion_tag("roads/map.html")
def run_map(shown: MapShown, label: str = "", small: bool = False) -> dict[str, Any]:
    """The map of some stops, or a quiet link to add roads; the list that says the same is beside it."""
    roads = roads_in_use(settings.HOME)
    if roads is None or not shown:
        return {"roads": None, "is_wanted": bool(shown)}
    return {
        "roads": roads.about,
        "streets": _where_tiles_are(roads),
        "data": map_data(shown, roads),
        "label": label,
        "small": small,
    }


@register.inclusion_tag("roads/pin_map.html")
def pin_map(field_id: str) -> dict[str, Any]:
    """The map below a pin field on which the pin is put; nothing without roads in use."""
    roads = roads_in_use(settings.HOME)
    if roads is None:
        return {"roads": None}
    return {
        "roads": roads.about,
        "streets": _where_tiles_are(roads),
        "bounds": ",".join(map(str, roads.about.bounds)),
        "field": field_id,
    }
