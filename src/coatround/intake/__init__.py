"""Bringing people in: a file's bytes read into households, dogs and dates. No files, clock or database here."""

from coatround.intake.errors import BadCell, DatesUnsettled, Unreadable
from coatround.intake.preview import KINDS, MOST_BYTES, Kind, Reading, read
from coatround.intake.reconcile import Known, Landed, Outcome, reconcile
from coatround.intake.refused import RefusedFile, refused_file

__all__ = [
    "KINDS",
    "MOST_BYTES",
    "BadCell",
    "DatesUnsettled",
    "Kind",
    "Known",
    "Landed",
    "Outcome",
    "Reading",
    "RefusedFile",
    "Unreadable",
    "read",
    "reconcile",
    "refused_file",
]
