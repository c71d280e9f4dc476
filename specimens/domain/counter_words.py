"""The answers of the counter's pages, as sentences."""

from labsite.ledger.wording import capitalised

_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def number_word(count: int) -> str:
    """Small counts as words, larger ones as figures."""
    return _SMALL[count] if count < len(_SMALL) else str(count)


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun: “two orders”, “one order”."""
    return f"{number_word(count)} {one if count == 1 else many or one + 's'}"


def sentence(words: str) -> str:
    """Words with a capital first letter and a full stop."""
    return f"{capitalised(words)}."


def counter_answer(*, reviews: int, answers: int) -> str:
    """What needs a hand at the counter: orders without a review, deviations without the client's answer."""
    parts = []
    if reviews:
        parts.append(f"{counted(reviews, 'order')} {'waits' if reviews == 1 else 'wait'} for a contract review")
    if answers:
        noun = "" if parts else (" deviation" if answers == 1 else " deviations")
        verb = "" if parts else (" waits" if answers == 1 else " wait")
        parts.append(f"{number_word(answers)}{noun}{verb} for an answer from the client")
    return sentence(", ".join(parts)) if parts else "Nothing needs a hand at the counter."


def expected_words(expected: int) -> str:
    """How many parcels are still to come."""
    return (
        sentence(f"{counted(expected, 'parcel is', 'parcels are')} expected") if expected else "No parcel is expected."
    )


def registered_words(items: int, specimens: int) -> str:
    """What of a parcel got numbers: “Two items and 56 specimens are registered; print the labels now.”"""
    told = counted(items, "item") + (f" and {counted(specimens, 'specimen')}" if specimens else "")
    return sentence(f"{told} {'is' if items == 1 and not specimens else 'are'} registered; print the labels now")


def order_answer(*, live_lines: int, reviewed: bool, specimens: int, received: bool, on_hold: tuple[int, ...]) -> str:
    """Where an order stands at the counter; `on_hold` are positions of lines with an unanswered deviation."""
    if not live_lines:
        return "All lines are withdrawn; nothing is tested."
    here = f"{counted(specimens, 'specimen')} {'is' if specimens == 1 else 'are'} here"
    if on_hold:
        lines = " and ".join(str(position) for position in on_hold)
        noun, verb = ("line", "is") if len(on_hold) == 1 else ("lines", "are")
        return sentence(f"{here}; {noun} {lines} {verb} on hold until the client answers")
    if not reviewed:
        return sentence(
            f"{here}; the contract review is not signed" if received else "the contract review is not signed"
        )
    if not received:
        return "The review is signed; the parcel is expected."
    return sentence(f"{here}, and nothing is open at the counter")
