"""Figures the methods give for checks: from their own parameters, with the laboratory's revisions."""

from decimal import Decimal

import pytest

from calibration.domain.check_figures import CheckFigures, merged_figures
from trials.queries.check_figures import check_figures

D = Decimal
pytestmark = pytest.mark.django_db


def test_the_copper_block_and_the_foil_have_the_methods_own_figures():
    """23.5 ± 1.0 s: IEC 60695-11-5:2016 (published); 44 ± 2 s and 960 ± 10 °C: general knowledge."""
    found = {(one.kind, one.rig_kind, one.reference, one.error_low, one.error_high) for one in check_figures()}
    assert found == {
        ("flame", "needle flame", D("23.5"), D("-1.0"), D("1.0")),
        ("flame", "small burner", D(44), D(-2), D(2)),
        ("foil", "glow wire", D(960), D(-10), D(10)),
    }


def test_one_read_for_all_editions(django_assert_num_queries):
    with django_assert_num_queries(1):
        check_figures()


def test_equal_figures_name_all_their_sources_once():
    one = CheckFigures("foil", "glow wire", D(960), D(-10), D(10), "°C", "2-11:2021")
    other = CheckFigures("foil", "glow wire", D(960), D(-10), D(10), "°C", "2-12:2021")
    assert [each.source for each in merged_figures([one, other, one])] == ["2-11:2021, 2-12:2021"]
