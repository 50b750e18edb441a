"""Words of a cut, as visits say them."""

from django import template

from coatround.web.visits.phrases import cut_words

register = template.Library()
register.filter("cut", cut_words)
