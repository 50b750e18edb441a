"""What is typed into a letter."""

from django import forms
from django.utils.translation import gettext_lazy as _

from coatround.web.base.forms import Page

LONGEST = 2000


class WordsForm(Page):
    """One paragraph; nothing left takes it out."""

    words = forms.CharField(
        label=_("Words"),
        required=False,
        max_length=LONGEST,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=_("Leave nothing to take it out."),
    )


class MoreForm(Page):
    """A paragraph of one's own."""

    more = forms.CharField(
        label=_("A paragraph of your own"), max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 3})
    )
