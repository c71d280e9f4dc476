"""The form of a check, for the largest line that can be ordered."""

from specimens.domain.order_lines import MOST_SPECIMENS
from trials.forms.checks import CheckForm


def test_the_largest_line_can_be_checked_after_many_years():
    verdicts = [10**9 + number for number in range(2 * MOST_SPECIMENS)]
    form = CheckForm({"finding": "sound", "seen_verdicts": ",".join(map(str, verdicts))})
    assert form.is_valid(), form.errors
    assert form.cleaned_data["seen_verdicts"] == verdicts


def test_what_is_no_list_of_verdicts_counts_as_another_page():
    form = CheckForm({"finding": "sound", "seen_verdicts": "１２,-3,1e5,99999999999999999999,7"})
    assert form.is_valid(), form.errors
    assert form.cleaned_data["seen_verdicts"] == [7]
