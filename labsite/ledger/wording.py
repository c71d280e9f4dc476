"""First letters of texts that move into a sentence or to its head; terms, symbols and units keep theirs."""


def mid_sentence(text: str) -> str:
    """Return a text as it reads inside a sentence: a small first letter, unless its first word is a term.

    "Guard band w = U" gives "guard band w = U", "CTI 400" and "HB40 at 3.0 mm" stay as they are.
    """
    return text[:1].lower() + text[1:] if text[1:2].islower() or text.startswith("A ") else text


def capitalised(text: str) -> str:
    """Return a text as it reads at the head of a sentence: a capital first letter, unless its first word is a symbol.

    "at 23 °C" gives "At 23 °C", "pH" and "w = U" stay as they are.
    """
    return text[:1].upper() + text[1:] if text[1:2].islower() or text.startswith("a ") else text
