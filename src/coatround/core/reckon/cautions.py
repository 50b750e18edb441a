"""What stands beside every answer that could hurt someone who trusts it too far."""

SHAMPOO = (
    "The product's label governs, and what the dog's vet said of its skin comes before it. Mix fresh and keep no "
    "thinned "
    "shampoo overnight. Rinse well."
)
HOT_WATER = (
    "Hot water scalds: run cold first, stir, feel it with your wrist before the dog. Tepid or cool for a dog; no "
    "guideline "
    "we know names a figure, ask the vet for a dog that is ill, old or very young. Local plumbing law governs hot "
    "water."
)
CHEMICALS = (
    "The product's label and local law govern: strength, minutes wet, gloves, air. Clean first. Never bleach with "
    "an acid or "
    "ammonia. Rinse before an animal comes near. A vet for skin or signs of poisoning."
)
BODY = "A figure, not a diet and not a dose: food and medicine are the vet's to say."
NOISE = (
    "Screening arithmetic, no measurement: local work-safety law governs. Wear protection, cover the dog's ears "
    "only if it "
    "takes it well; no limit for dogs is known to us. Ringing or dull ears: see a doctor, and a vet for the dog."
)
LIFT = (
    "Indicative only: the method leaves out lifts with one hand, seated or kneeling, in tight spaces, and loads "
    "that move, and "
    "a dog moves. Local work-safety law governs. In doubt two people, a step or a ramp."
)
HEAT = (
    "The heat index is made for people. An hour that is not closed is not called safe: read the van's own "
    "thermometer before "
    "each dog, stop if cooling fails, no heated drying for a dog with an airway caution, no dog alone in the van. "
    "What a dog "
    "can bear is for its vet to say."
)
HAIR = (
    "Our own model of loose hair, not a finding about health. Bald patches, itching, or much more or less hair than "
    "ever "
    "before: see a vet."
)
FOOD = (
    "Grades by eye do not diagnose and never name an allergy. A diet trial takes at least eight weeks and belongs "
    "to a vet; "
    "do not change food for an illness without one."
)
