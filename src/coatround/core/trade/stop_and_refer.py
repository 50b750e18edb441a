"""When the work stops and a vet is rung: what is seen, and what may be done until the vet speaks. Never a dose.

Information, not treatment: the vet's word goes before every line. `source` names where the line comes from; where it
is empty the line is common practice.
"""

from dataclasses import dataclass

HALL_2023 = "Hall, Carter, Bradbury et al. 2023, Veterinary Sciences 10(7):465"
CAIN_2015 = "Cain and Mauldin 2015, JAVMA 246:522-529"


@dataclass(frozen=True)
class Refer:
    """One thing seen, and what to do: `first` stands in large, the rest in order below."""

    key: str
    seen: str
    first: str
    then: tuple[str, ...] = ()
    source: str = ""
    ring: str = "vet"


REFER: tuple[Refer, ...] = (
    Refer(
        "collapse",
        "Collapsed, or not answering",
        "Ring a vet now, on the loudspeaker.",
        (
            "Off the table and out of the tub, on its side, neck straight, mouth clear. Water and dryer off.",
            "Look whether it breathes. Do what the vet says; go when the vet says so.",
        ),
    ),
    Refer(
        "breathing",
        "Labours for breath, or gums blue or grey",
        "Stop all work. Ring a vet now.",
        (
            "Loop and strap off the neck, muzzle off, nothing over the face. Cool, moving air, no heated dryer.",
            "Let it stand or lie as it wants; do not turn it on its back.",
        ),
    ),
    Refer(
        "heat",
        "Too hot: pants hard, drools, staggers, will not settle",
        "Cool first, then drive. Ring a vet while you cool.",
        (
            "Young, well and awake: into cool water, the head held up. Old, ill or not awake: pour water over it "
            "and move air on it.",
            "No wet towels left lying on it. Muzzle off. Small sips only when it is awake and wants them.",
            "The vet says when to stop cooling and when to come; an air-conditioned drive, windows open.",
        ),
        HALL_2023,
    ),
    Refer(
        "seizure",
        "A fit: stiff, paddling, not there",
        "Keep it from falling, look at the clock, ring a vet.",
        (
            "Off the table, hard things away, water and dryer off, lights and voices low.",
            "Hands away from the mouth. Nothing in it.",
        ),
    ),
    Refer(
        "belly",
        "Retches and brings nothing up, belly tight or swollen",
        "Ring a vet now and drive. It can't wait.",
        ("Nothing to eat or drink. No belly strap.",),
    ),
    Refer(
        "bleeding",
        "Bleeds and does not stop",
        "Press a clean cloth on it and hold. Ring a vet when it still bleeds after ten minutes, at once if it spurts.",
        ("Do not lift the cloth to look; lay another on top.", "A bleeding ear tip or tongue is rung at once."),
    ),
    Refer(
        "eye",
        "An eye hurt, shut, cloudy, or out of its socket",
        "Ring a vet now.",
        (
            "Out of its socket: do not push it back. Keep it moist with a clean cloth wet with clean water or saline.",
            "Do not let it rub or scratch. Nothing into the eye that the vet did not name.",
        ),
    ),
    Refer(
        "chemical",
        "Shampoo, cleaner or any chemical in an eye",
        "Rinse at once with much lukewarm clean water, from the nose outwards. Ring a vet while you rinse.",
        ("Keep the label at hand and read it out.", "On a person: rinse the same way and ring a doctor."),
    ),
    Refer(
        "swallowed",
        "Swallowed something: cotton, chemical, tea tree oil, a spot-on, medicine, a toy",
        "Ring the poison line or a vet now, with the label or the wrapper in hand.",
        ("Do not make it vomit. Nothing by mouth unless they say so.",),
        ring="poison",
    ),
    Refer(
        "choking",
        "Chokes: paws at the mouth, gags, no air",
        "Look into the mouth; take out only what you can see and grip. Ring a vet now.",
        ("Do not reach blindly: it goes deeper, and you are bitten. Do what the vet says on the loudspeaker.",),
    ),
    Refer(
        "shock",
        "Electric shock",
        "Do not touch the dog until the power is off at the plug or the battery. Then ring a vet.",
        ("It is seen by a vet even when it seems well.",),
    ),
    Refer(
        "swelling",
        "Face or muzzle swells, hives, sudden vomiting after a product or a sting",
        "Stop, rinse the product off with cool water, ring a vet now.",
        ("Watch the breath until the vet speaks.",),
    ),
    Refer(
        "skin",
        "Deep mats with broken skin, wounds or maggots under them",
        "Stop clipping there. Ring a vet today; at once for maggots.",
        ("Keep it dry, keep the flies off. No bath over broken skin.", "Photograph it and show the owner."),
    ),
    Refer(
        "ear",
        "A bad ear: painful, smelly, swollen, runs, or the head is tilted",
        "Nothing into the ear, no plucking, no water. The owner rings a vet today; now when it staggers.",
        (),
    ),
    Refer(
        "back",
        "Within days of a bath: sore spots along the back, listless, feverish",
        "The owner rings a vet today and says that it was bathed, when, and with what.",
        ("Keep the bottle. Diluted shampoo is thrown away the same day.",),
        CAIN_2015,
    ),
    Refer(
        "person",
        "A person was bitten, burnt, shocked or splashed",
        "Wash a bite with much water and see a doctor today. Ring an ambulance when it is grave.",
        ("Shut the dog away safely first. Write down whose dog, and its vaccination.",),
        ring="doctor",
    ),
)

ALWAYS = "Ring a vet first. This is what is usually done until the vet speaks; the vet's word goes before it."

HANDLING: tuple[str, ...] = (
    "Never left tied on the table. Quick release on every strap.",
    "A body strap, not the neck, where there is an airway or throat caution.",
    "No muzzle on a panting dog. No scissors under a mat.",
    "We never sedate. No dog alone in the van.",
    "Read the van's temperature before each dog.",
)
"""Rules of handling; common practice. Those that a dog's cautions call for stand on the pages of its work as well."""
