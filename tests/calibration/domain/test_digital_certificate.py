"""What digital calibration certificates of four versions say, in the digits they say it in."""

from datetime import date
from decimal import Decimal

import pytest

from calibration.domain.digital_certificate import (
    Ambient,
    CalibratedItem,
    UsedStandard,
    read_digital_certificate,
    serial_difference,
)
from tests.calibration.digital_certificates import FORCE_GAUGE, HYGROMETER, THERMOCOUPLE, certificate_bytes
from tests.calibration.reference_data import reference_path


def rows(certificate, *names):
    return [tuple(_text(getattr(point, name)) for name in names) for point in certificate.points]


def _text(value):
    return format(value, "f") if isinstance(value, Decimal) else value


@pytest.mark.parametrize("name", ["typical", "extensive"])
def test_the_good_practice_certificate_of_a_temperature_sensor(name):
    # Published example of the PTB for the format, version 3.1.1; the figures as printed in it.
    path = reference_path("dcc", f"dcc_gp_temperature_{name}_v12.xml")
    made = read_digital_certificate(path.read_bytes())
    assert made.identifier == f"GP_DCC_temperature_{name}_1.2"
    assert (made.begun_on, made.ended_on, made.schema_version) == (date(1957, 8, 13), date(1957, 8, 13), "3.1.1")
    assert made.recalibration_on == date(1959, 10, 22)
    assert rows(made, "reference", "indication", "error") == [
        ("33.098", "33.17", "0.072"),
        ("99.971", "100.06", "0.089"),
        ("175.103", "175.21", "0.107"),
        ("250.169", "250.16", "-0.009"),
        ("320.004", "319.92", "-0.084"),
    ]
    assert {(point.unit, point.expanded_uncertainty, point.coverage_factor) for point in made.points} == {
        ("°C", Decimal("0.061"), Decimal(2))
    }
    assert {point.coverage_probability for point in made.points} == {Decimal("0.95")}
    assert rows(made, "acceptance_low", "acceptance_high", "conformity") == [
        *[("-0.23", "0.23", "pass")] * 3,
        *[("-0.30", "0.30", "pass")] * 2,
    ]
    # The table leaves no error unexplained: indication minus reference is the error stated.
    assert [point.indication - point.reference for point in made.points] == [point.error for point in made.points]


def test_a_thermocouple_in_the_current_wording():
    made = read_digital_certificate(certificate_bytes(THERMOCOUPLE))
    assert (made.schema_version, made.identifier) == ("3.3.0", "VS-T-2026-0417")
    assert (made.begun_on, made.ended_on) == (date(2026, 5, 4), date(2026, 5, 5))
    assert (made.received_on, made.issued_on) == (date(2026, 4, 28), date(2026, 5, 7))
    assert (made.laboratory, made.laboratory_code) == ("Vogsósar Calibration", "K-00417")
    assert made.items == (CalibratedItem("Sheathed thermocouple, type K", "Hraunvír", "HV-K 0.5", "HV 00417", "TC-7"),)
    assert rows(made, "reference", "indication", "unit", "error", "expanded_uncertainty", "coverage_factor") == [
        ("550.10", "550.90", "°C", "0.80", "1.1", "2.00"),
        ("850.05", "851.25", "°C", "1.20", "1.2", "2.00"),
        ("959.97", "961.95", "°C", "1.98", "1.4", "2.00"),
    ]
    assert rows(made, "as_left", "acceptance_low", "acceptance_high", "conformity") == [
        (True, "-2.2", "2.2", "pass"),
        (True, "-3.4", "3.4", "pass"),
        (True, "-3.84", "3.84", "conditionalPass"),
    ]
    assert (made.conformity, made.recalibration_on) == (("pass",), date(2027, 5, 31))
    assert made.standards == (UsedStandard("Reference thermocouple, type S", "S-31", "NI-2025-0088"),)
    assert made.methods == ("Comparison with a reference thermocouple, own procedure T-12",)
    assert made.ambient == (Ambient("temperature", "Air", "23.1", "°C"),)
    assert (made.signed, made.remarks) == (False, ())


def test_a_force_gauge_in_the_older_wording():
    made = read_digital_certificate(certificate_bytes(FORCE_GAUGE))
    assert (made.schema_version, made.identifier, made.replaces) == ("3.1.2", "M-26/0093", "M-25/0088")
    assert made.ended_on == date(2026, 3, 17)
    assert rows(made, "reference", "indication", "unit", "expanded_uncertainty", "coverage_factor") == [
        ("0.950", "0.96", "N", "0.012", "2.13"),
        ("1.05", "1.04", "N", None, None),
    ]
    assert made.remarks == (
        "Result 1, table 2 states no indications; they are reference plus error.",
        "Result 1, table 2 states an uncertainty that is not an expanded one; it is not taken for one.",
        "The certificate does not say whether its points are as found or as left.",
    )


def test_a_hygrometer_of_version_2_4():
    made = read_digital_certificate(certificate_bytes(HYGROMETER))
    assert made.items == (CalibratedItem("Termo-higrómetro", "Orvalho", "O-2", "O2-8815", "HY-2"),)
    assert rows(made, "reference", "indication", "unit", "expanded_uncertainty", "coverage_factor") == [
        ("35.1", "34.6", "%", "1.3", "2"),
        ("50.2", "49.9", "%", "1.5", "2"),
    ]


@pytest.mark.parametrize("version", ["3.1.0", "3.2.0", "3.2.1", "3.3.0", "2.4.1"])
def test_the_versions_between_are_read_alike(version):
    changed = certificate_bytes(THERMOCOUPLE, ('schemaVersion="3.3.0"', f'schemaVersion="{version}"'))
    assert read_digital_certificate(changed).points == read_digital_certificate(certificate_bytes()).points


def test_a_coverage_factor_that_is_not_stated_is_not_known():
    factor = "<si:coverageFactorXMLList>2.00</si:coverageFactorXMLList>"
    made = read_digital_certificate(certificate_bytes(THERMOCOUPLE, (factor, "")))
    assert rows(made, "expanded_uncertainty", "coverage_factor") == [("1.1", None), ("1.2", None), ("1.4", None)]


def test_an_uncertainty_beside_the_kelvin_holds_for_the_celsius_too():
    block = certificate_bytes().decode().partition("<si:measurementUncertaintyUnivariateXMLList>")[2]
    block = "<si:measurementUncertaintyUnivariateXMLList>" + block.partition("</si:realListXMLList>")[0]
    kelvin = "824.05 1124.4 1235.10</si:valueXMLList>"
    unit = r"<si:unitXMLList>\kelvin</si:unitXMLList>"
    moved = (f"{kelvin}\n{' ' * 20}{unit}", f"{kelvin}{unit}{block}")
    made = read_digital_certificate(certificate_bytes(THERMOCOUPLE, (block, ""), moved))
    assert rows(made, "indication", "unit", "expanded_uncertainty") == [
        ("550.90", "°C", "1.1"),
        ("851.25", "°C", "1.2"),
        ("961.95", "°C", "1.4"),
    ]


def test_an_uncertainty_of_the_reference_alone_is_not_the_calibrations():
    block = "<si:expandedUnc>" + certificate_bytes(FORCE_GAUGE).decode().partition("<si:expandedUnc>")[2]
    block = block.partition("</si:expandedUnc>")[0] + "</si:expandedUnc>"
    reference = r"<si:value>0.950</si:value><si:unit>\newton</si:unit>"
    made = read_digital_certificate(certificate_bytes(FORCE_GAUGE, (block, ""), (reference, reference + block)))
    assert rows(made, "expanded_uncertainty") == [(None,), (None,)]
    assert made.remarks[0] == "Result 1, table 1 states no expanded uncertainty of its errors."


def test_a_stated_error_that_contradicts_its_row_is_named():
    made = read_digital_certificate(certificate_bytes(THERMOCOUPLE, ("0.80 1.20 1.98", "0.80 -1.20 1.97")))
    assert made.remarks == ("Result 1, table 1, row 2: the error -1.20 is stated, indication minus reference is 1.20.",)


def test_two_quantities_of_one_kind_in_a_table_are_not_paired_by_guessing():
    made = read_digital_certificate(
        certificate_bytes(THERMOCOUPLE, ('refType="basic_measurementError"', 'refType="basic_measuredValue"'))
    )
    assert made.points == ()
    assert made.remarks == (
        "Result 1, table 1 states a quantity twice; which belong together is not said, none is read.",
    )


def test_reference_and_indication_without_a_common_unit_are_not_read():
    made = read_digital_certificate(
        certificate_bytes(FORCE_GAUGE, (r"0.950</si:value><si:unit>\newton", r"0.950</si:value><si:unit>\milli\newton"))
    )
    assert rows(made, "reference") == [("1.05",)]
    assert made.remarks[0] == "Result 1, table 1 has no reference values and indications in one unit; it is not read."


def test_a_unit_this_program_does_not_know_stays_as_written():
    made = read_digital_certificate(certificate_bytes(FORCE_GAUGE, (r"\newton", r"\pond")))
    assert {point.unit for point in made.points} == {r"\pond"}


def test_a_signature_is_noticed_and_never_trusted():
    end = "</dcc:digitalCalibrationCertificate>"
    signature = f'<ds:Signature xmlns:ds="http://www.w3.org/2000/09/xmldsig#"/>{end}'
    made = read_digital_certificate(certificate_bytes(THERMOCOUPLE, (end, signature)))
    assert (made.signed, made.remarks) == (True, ("The file is signed; the signature is not verified.",))


@pytest.mark.parametrize("serial", ["HV 00417", " hv 00417 ", ""])
def test_a_serial_number_that_fits_or_is_not_known(serial):
    assert serial_difference(read_digital_certificate(certificate_bytes()), serial) == ""


@pytest.mark.parametrize("serial", ["HV 0417", "HV00417", "O2-8815"])
def test_another_serial_number_is_named(serial):
    assert serial_difference(read_digital_certificate(certificate_bytes()), serial) == (
        f"The certificate is for serial number HV 00417, the instrument’s is {serial}."
    )


def test_a_certificate_without_serial_number_fits_none_wrongly():
    stated = "<dcc:issuer>manufacturer</dcc:issuer><dcc:value>HV 00417</dcc:value>"
    other = "<dcc:issuer>other</dcc:issuer><dcc:value>HV 00417</dcc:value>"
    assert serial_difference(read_digital_certificate(certificate_bytes(THERMOCOUPLE, (stated, other))), "17") == ""
