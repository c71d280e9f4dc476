"""The demo scenario: an ordinary day of an invented laboratory, refused where real records could be."""

import pytest
from django.core.management import CommandError, call_command

from calibration.models import Instrument
from calibration.queries.usability import usabilities
from labsite.ledger.queries import ledger_faults
from reports.models import Certificate, TraceDecision, TraceLine
from specimens.models import Order
from specimens.queries.orders import lines_in_work
from trials.queries.queue import queue_rows
from trials.queries.results import line_standings

pytestmark = pytest.mark.usefixtures("db")


def test_its_lines_stand_at_every_stage(told):
    stages = {row.work.line.subject: row.group for row in queue_rows(told, None)}
    assert stages == {
        "Busbar holder, two poles": "hand",
        "Kettle base, lower shell": "hand",
        "Handle, upper half": "check",
        "Lampholder, cover ring": "start",
        "Socket base": "start",
        "Terminal block, twelve poles": "time",
        "Plug insert, three pins": "outside",
        "Switch housing": "certificate",
        "Lampholder, insert": "check",
        "Plates 60 mm x 60 mm, grey": "start",
        "Bars 125 mm x 13 mm, upright": "start",
        "Terminal carrier": "certificate",
        "Bars 125 mm x 13 mm, lying": "certificate",
        "Cover of a switch, four ways": "check",
    }


def test_its_instruments_show_every_standing(told):
    instruments = list(Instrument.objects.all())
    standings = usabilities(instruments, told)
    others = {
        one.code: standings[one.pk].status.name for one in instruments if standings[one.pk].status.name != "USABLE"
    }
    assert len(instruments) == 48
    assert others == {
        "TC-04": "OVERDUE",
        "FG-03": "OUT_OF_SERVICE",
        "TC-07": "OUT_OF_SERVICE",
        "TC-11": "AWAITS",
        "TM-03": "DUE_SOON",
    }


def test_its_certificates_are_written_and_one_is_amended(told):
    rows = [
        (one.number, one.replaces_id is not None, one.pdf_id is not None)
        for one in Certificate.objects.order_by("number")
    ]
    assert rows == [
        ("26-0001-C1", False, True), ("26-0001-C2", True, True), ("26-0002-C1", False, True),
        ("26-0005-C1", False, True), ("26-0006-C1", False, True),
        ("26-0018-C1", False, True), ("26-0019-C1", False, True),
    ]  # fmt: skip


def test_its_verdicts_are_the_rules_own(told):
    lines = list(lines_in_work())
    states = {line.subject: line_standings(lines)[line.pk].result.state for line in lines}
    assert (states["Contact carrier"], states["Cover of a luminaire, opal"]) == ("passed", "failed")


def test_each_of_the_eight_methods_has_a_line(told):
    lines = list(lines_in_work())
    standings = line_standings(lines)
    results = {line.method_key: standings[line.pk].result for line in lines if line.severity is None}
    assert {key: (result.state, result.result) for key, result in results.items()} == {
        "glow-wire-flammability-index@2021": ("determined", "GWFI: 850/3.0"),
        "glow-wire-ignition-temperature@2021": ("more specimens needed", ""),
        "horizontal-flame@2013": ("determined", "HB40 at 3.0 mm"),
        "vertical-flame@2013": ("more specimens needed", ""),
        "tracking@2020": ("determined", "CTI 400"),
    }
    assert len({line.method_key for line in lines}) == 8


def test_its_thermocouple_that_came_back_changes_two_trials_and_leaves_four(told):
    """Eight kelvin high: tips read 745 at 750 ± 10 °C and 951 at 960 ± 15 °C lay outside in truth."""
    lines = [(line.finding, line.figures["level"]) for line in TraceLine.objects.order_by("position")]
    assert lines == [
        ("changed", "750 °C"), ("changed", "960 °C"), ("unchanged", "750 °C"), ("unchanged", "850 °C"),
        ("unchanged", "850 °C"), ("unchanged", "960 °C"),
    ]  # fmt: skip
    assert [one.line.position for one in TraceDecision.objects.all()] == [1]


def test_its_ledger_is_whole(told):
    assert list(ledger_faults()) == []


def test_it_is_told_once(told):
    with pytest.raises(CommandError, match="already holds a laboratory’s records"):
        call_command("seed_demo")
    call_command("seed_demo", "--if-empty")
    assert Order.objects.count() == 20


def test_production_settings_refuse_it(settings):
    settings.DEMO_ALLOWED = False
    with pytest.raises(CommandError, match="not seeded under production settings"):
        call_command("seed_demo")
