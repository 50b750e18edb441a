"""A first routine for a dog that has none: our own default, from what is common practice, to be changed at once."""

WASH = (
    "check-over",
    "brush-out",
    "nails",
    "cotton in",
    "first wash",
    "second wash",
    "condition",
    "rinse",
    "cotton out",
)
DRY = ("towel", "dryer", "brush-out")
FINISHES = {
    "smooth": ("hand rub", "finish"),
    "double": ("feet", "hygiene", "finish"),
    "wire": ("strip", "feet", "hygiene", "finish"),
    "curly": ("clip", "scissor", "feet", "hygiene", "finish"),
    "silky": ("scissor", "feet", "hygiene", "finish"),
    "mixed": ("clip", "scissor", "feet", "hygiene", "finish"),
}
HAIRLESS = ("check-over", "nails", "cotton in", "first wash", "rinse", "cotton out", "towel", "finish")


def first_routine(coat: str) -> tuple[str, ...]:
    """The steps to begin with for a coat, in order."""
    return HAIRLESS if coat == "hairless" else (*WASH, *DRY, *FINISHES[coat])
