"""An expected “no”, with a sentence fit for the screen."""


class Refused(Exception):
    """Something must not happen. `sentence` says why; `field` names the form field it belongs to, if any."""

    def __init__(self, sentence: str, *, field: str | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field
