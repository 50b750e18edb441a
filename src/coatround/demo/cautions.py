"""The demo's cautions, all fifteen kinds, each with what to do about it."""

from random import Random

from coatround.demo.breeds import Breed

CAUTIONS: dict[str, tuple[str, ...]] = {
    "ears": (
        "Left ear gets sore: look and smell first, no water in it. Sore, smelly or running: no cotton, vet first.",
        "Hairy ear canals: do not pluck, vet's wish. Cotton in both, counted in and out.",
    ),
    "eyes": ("Right eye waters and dries out: face by damp cloth only, no foam near it, no dryer at the face.",),
    "airway": (
        "Flat face, noisy breath: towel and hand, no heated drying, no muzzle. Blue gums: stop, ring the vet.",
        "Snores and tires fast: short spells with rests, cool water, never alone on the table.",
    ),
    "throat": ("Coughs when the collar pulls: loop under one front leg, nothing tight round the neck.",),
    "heat": ("Overheats: mornings in summer, van cooled first. Heavy panting: stop, cool with water, ring the vet.",),
    "skin": (
        "Thin skin behind the elbows: hand-stretch it, guard comb only, blade checked for warmth every few minutes.",
        "Itchy belly: gentle wash only, pat dry, no rubbing.",
    ),
    "heart": ("Heart murmur, on tablets: no fuss, no heated drying, rests. Weak, or grey gums: stop, ring the vet.",),
    "joints": (
        "Stiff hips: ramp, never lift by the belly; hind legs low and short.",
        "Old knee operation, left hind: do not fold it, let it stand on three legs its own way.",
    ),
    "age": ("Old and wobbly: mat under the feet, sit when it wants, stop half done if it tires (agreed).",),
    "bite": ("Snaps when the hind feet are held: second pair of hands for nails, no rushing.",),
    "escape": ("Bolts at the open door: lead on before the side door opens, gate shut behind you.",),
    "catching": ("Had kennel cough in the house last winter: ask at the door; a cough means not today.",),
    "product": ("Red skin after the bright wash: oat wash only, rinse twice as long.",),
    "medicine": ("Tick tablet monthly, anti-itch tablets now and then: ask what was given this week before any wash.",),
    "whelping": ("In season about March and September: ask first; due or nursing means not today.",),
}


def chance_cautions(breed: Breed, years: float, chance: Random) -> list[str]:
    """The kinds of caution that one dog in the town has, from its breed and age."""
    likely = {"airway": 0.75 if breed.flat_face else 0.01, "heat": 0.4 if breed.flat_face else 0.03}
    likely |= {"age": 0.8 if years > 12 else 0.0, "joints": 0.35 if years > 10 else 0.04}
    likely |= {"heart": 0.15 if years > 10 else 0.01, "ears": 0.18 if breed.coat in ("curly", "silky") else 0.06}
    likely |= {
        "skin": 0.07,
        "eyes": 0.05,
        "bite": 0.03,
        "escape": 0.04,
        "throat": 0.03,
        "medicine": 0.05,
        "product": 0.03,
    }
    return [kind for kind, odds in likely.items() if chance.random() < odds]
