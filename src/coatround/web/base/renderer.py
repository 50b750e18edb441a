"""Draws every form field with our own template."""

from django.forms.renderers import DjangoTemplates


class Renderer(DjangoTemplates):
    """Django's own renderer, with one labelled field under the other."""

    field_template_name = "base/field.html"
