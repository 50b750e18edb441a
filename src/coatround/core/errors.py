"""What the core raises when it is given something it cannot use."""


class BadInput(ValueError):
    """Input that breaks a rule of its format; `path` says where (`visits[3].days[1]`), `words` what."""

    def __init__(self, path: str, words: str) -> None:
        self.path = path
        self.words = words
        super().__init__(f"{path}: {words}" if path else words)
