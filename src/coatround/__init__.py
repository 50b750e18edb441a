"""Coatround plans, prepares and records the repeating round of a mobile dog groomer."""

__version__ = "0.1.0"
