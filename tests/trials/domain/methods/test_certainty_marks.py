"""No figure is called published that was only taken over from another method or known from memory.

Source: the laboratory's facts sheet on the methods, its marks on each figure.
"""

import pytest

from trials.domain.methods.registry import EDITIONS

TAKEN_OVER = ("use_within_h", "start_c", "room_temperature_c", "room_humidity_percent")


@pytest.mark.parametrize("key", sorted(key for key in EDITIONS if key.startswith("glow-wire-flammability-index")))
def test_what_was_seen_for_the_ignition_temperature_only_is_taken_over(key):
    edition, other = EDITIONS[key], EDITIONS[key.replace("flammability-index", "ignition-temperature")]
    for name in TAKEN_OVER:
        own, seen = edition.parameter(name), other.parameter(name)
        assert own.limit_text == seen.limit_text
        assert (own.certainty, seen.certainty) == ("common practice", "published")
        assert own.source == f"{seen.source}; taken the same for -2-12"
    assert edition.parameter("fine_step").certainty == "from memory"


@pytest.mark.parametrize("key", ["needle-flame@2004", "needle-flame@2016", "ball-pressure@2014"])
def test_the_conditioning_of_specimens_is_known_from_memory(key):
    assert EDITIONS[key].parameter("conditioning_h").certainty == "from memory"
