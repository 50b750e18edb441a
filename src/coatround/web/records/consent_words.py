"""The words shown when someone is asked to agree: ours, in plain language, to be checked locally before use."""

from django.utils.translation import gettext_lazy as _

CHECK_LOCALLY = _(
    "Have it checked locally: what an agreement must say, and what it is worth, differs from place to place."
)

CONSENT_WORDS = {
    "matted off": _(
        "The coat is matted down to the skin and will be cut off short, because combing it out would hurt."
        " Sores, bruises or"
        " redness that the mats were hiding may show afterwards, and ears that were weighed down may bruise"
        " or swell. The coat"
        " may grow back uneven. If skin is broken, or the dog keeps shaking its head, ring a vet."
    ),
    "stop half": _(
        "This dog is old or not strong. If it tires, struggles or is unwell, the groomer stops, even with"
        " the work half"
        " done and uneven, and the dog rests. What was done is charged. The rest is done another day, or left."
    ),
    "double clip": _(
        "A double coat will be clipped short because you asked for it. It may grow back patchy, in another"
        " colour or texture,"
        " slowly, or not at all, and short fur shields less from sun. This was explained and another way was offered."
    ),
    "vet": _(
        "If the dog is hurt or falls ill during the visit and you can't be reached, the groomer may take it"
        " to a vet, yours if"
        " open, and agree to first treatment up to the amount below. You are told as soon as possible. You"
        " pay the vet."
    ),
    "muzzle": _(
        "If the dog tries to bite, a soft muzzle that lets it breathe and pant may be worn for a short"
        " time, for everyone's"
        " safety. Not on a dog with an airway caution, and it comes off at once if the dog is in trouble."
    ),
    "treats": _(
        "The groomer may give small treats as a reward. You have said which foods the dog must not have."
    ),
    "photos kept": _(
        "Photos of the dog's coat, skin and cut are taken and kept with its records, to compare over time"
        " and to show you or"
        " your vet. They are not shown to anyone else."
    ),
    "photos shown": _(
        "Photos of the dog may be shown to others, on paper or online, without your name or address. You"
        " can take this back"
        " at any time; what is already out may not all come back."
    ),
    "nobody home": _(
        "The groomer may come in, or fetch the dog from where you said, when nobody is home, with the key"
        " or code you gave,"
        " and put the dog back there. The key or code is used for this only and is given back when you ask."
    ),
}  # fmt: skip


def consent_words(kind: str) -> str:
    """The words for one kind of consent."""
    return str(CONSENT_WORDS[kind])
