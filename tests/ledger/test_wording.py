"""First letters: what moves into a sentence or to its head keeps its terms, symbols and units."""

import pytest

from labsite.ledger.wording import capitalised, mid_sentence
from specimens.models import DecisionRule
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS

EVERY = pytest.mark.parametrize("edition", EDITIONS.values(), ids=list(EDITIONS))


@pytest.mark.parametrize(
    ("text", "inside"),
    [
        ("Guard band w = U", "guard band w = U"),
        ("Simple acceptance", "simple acceptance"),
        ("CTI 400", "CTI 400"),
        ("GWFI 850/2.0", "GWFI 850/2.0"),
        ("HB40 at 3.0 mm", "HB40 at 3.0 mm"),
        ("V-0 at 1.5 mm", "V-0 at 1.5 mm"),
        ("100 to 700 °C", "100 to 700 °C"),
        ("A bar is bad", "a bar is bad"),
        ("U", "U"),
        ("", ""),
    ],
)
def test_a_text_inside_a_sentence(text: str, inside: str) -> None:
    assert mid_sentence(text) == inside


@pytest.mark.parametrize(
    ("text", "head"),
    [
        ("at 23 °C", "At 23 °C"),
        ("100 to 700 °C", "100 to 700 °C"),
        ("the thermocouple of type K", "The thermocouple of type K"),
        ("pH of the solution", "pH of the solution"),
        ("w = U", "w = U"),
        ("a bar is bad", "A bar is bad"),
        ("", ""),
    ],
)
def test_a_text_at_the_head_of_a_sentence(text: str, head: str) -> None:
    assert capitalised(text) == head


def _spoken(edition: MethodEdition) -> list[str]:
    """Every text of an edition that some sentence, label or heading takes in."""
    severities = [edition.severity_text(severity.value) for severity in edition.severities]
    units = [kind.unit for kind in edition.observation_kinds] + [field.unit for field in edition.setup_fields]
    titles = [
        edition.short_title,
        edition.short_standard,
        edition.open_severity,
        *(f"{kind.title} at 23 °C" for kind in edition.observation_kinds),
    ]
    titles += [field.title for field in edition.setup_fields] + [one.title for one in edition.quantities]
    prompts = [kind.prompt for kind in edition.observation_kinds] + [field.prompt for field in edition.setup_fields]
    ways = [need.title for need in edition.conditionings]
    limits = [parameter.limit_text for parameter in edition.parameters]
    steady = [] if edition.steady is None else [edition.steady.title]
    return [*severities, *units, *titles, *prompts, *ways, *limits, *steady]


@EVERY
def test_all_but_the_first_letter_stays_in_every_text_of_every_edition(edition: MethodEdition) -> None:
    texts = _spoken(edition)
    assert [mid_sentence(text)[1:] for text in texts] == [text[1:] for text in texts]
    assert [capitalised(text)[1:] for text in texts] == [text[1:] for text in texts]


@EVERY
def test_a_first_word_with_a_capital_or_a_figure_stays_in_every_text_of_every_edition(edition: MethodEdition) -> None:
    terms = [text for text in _spoken(edition) if text[1:2] and not text[1:2].islower() and not text.startswith("A ")]
    assert [mid_sentence(text) for text in terms] == terms


def test_the_decision_rules_inside_a_sentence() -> None:
    assert [mid_sentence(str(label)) for label in DecisionRule.labels] == [
        "inherent in the standard",
        "simple acceptance",
        "guard band w = U",
        "the client’s own limit",
    ]
