"""Files that are no certificate, or one made to hurt: each is refused in one sentence, nothing fetched or expanded."""

import pytest

from calibration.domain.certificate_xml import LARGEST_BYTES, CertificateError
from calibration.domain.digital_certificate import read_digital_certificate
from tests.calibration.digital_certificates import FORCE_GAUGE, THERMOCOUPLE, certificate_bytes

DOCTYPE = "The file declares a document type; a certificate has none, and none is read."
HEAD = '<?xml version="1.0" encoding="UTF-8"?>'
ROOT = '<dcc:digitalCalibrationCertificate xmlns:dcc="https://ptb.de/dcc" schemaVersion="3.3.0">'


def sentence(content: bytes) -> str:
    with pytest.raises(CertificateError) as refusal:
        read_digital_certificate(content)
    return str(refusal.value)


def with_doctype(declaration: str) -> bytes:
    return certificate_bytes(THERMOCOUPLE, (HEAD, HEAD + declaration), ("Hraunvír", "&x;"))


def test_nested_entities_are_not_expanded():
    levels = "".join(f'<!ENTITY {a} "{f"&{b};" * 10}">' for a, b in zip("xbcdefghi", "bcdefghij", strict=True))
    assert sentence(with_doctype(f'<!DOCTYPE bomb [<!ENTITY j "boom">{levels}]>')) == DOCTYPE


@pytest.mark.parametrize(
    "declaration",
    [
        '<!DOCTYPE x [<!ENTITY x SYSTEM "file:///etc/hostname">]>',
        '<!DOCTYPE x [<!ENTITY x SYSTEM "http://127.0.0.1:9/x">]>',
        '<!DOCTYPE x SYSTEM "http://127.0.0.1:9/x.dtd">',
        '<!DOCTYPE x [<!ENTITY % p SYSTEM "http://127.0.0.1:9/x"> %p;]>',
        f'<!DOCTYPE x [<!ENTITY x "{"a" * 100_000}">]>',
    ],
)
def test_no_document_type_is_read(declaration):
    assert sentence(with_doctype(declaration)) == DOCTYPE


def test_a_document_type_in_another_encoding_is_seen_too():
    text = with_doctype('<!DOCTYPE x [<!ENTITY x "boom">]>').decode().replace('encoding="UTF-8"', 'encoding="UTF-16"')
    assert sentence(text.encode("utf-16")) == DOCTYPE


def test_an_entity_nobody_declared():
    assert sentence(certificate_bytes(THERMOCOUPLE, ("Hraunvír", "&x;"))).startswith(
        "The file is not well-formed XML: "
    )


BEGINS = "The file is not a digital calibration certificate: it begins with"
NO_CERTIFICATES = [
    (b"", "The file is empty."),
    (b"  \n ", "The file is empty."),
    (
        b'<digitalCalibrationCertificate schemaVersion="3.3.0"/>',
        f"{BEGINS} “digitalCalibrationCertificate” without a namespace.",
    ),
    (
        b'<a:digitalCalibrationCertificate xmlns:a="https://example.org/dcc" schemaVersion="3.3.0"/>',
        f"{BEGINS} “digitalCalibrationCertificate” in the namespace https://example.org/dcc.",
    ),
    (b"<html><body>Sign in first</body></html>", f"{BEGINS} “html” without a namespace."),
    (
        ROOT.encode() + b"</dcc:digitalCalibrationCertificate>",
        "The certificate has no administrativeData in its digitalCalibrationCertificate.",
    ),
]


@pytest.mark.parametrize(("content", "expected"), NO_CERTIFICATES)
def test_what_is_no_certificate(content, expected):
    assert sentence(content) == expected


@pytest.mark.parametrize("content", [b"%PDF-1.7 a certificate", b"\x00\x01\x02", ROOT.encode() + b"<a>"])
def test_what_is_no_xml(content):
    assert sentence(content).startswith("The file is not well-formed XML: ")


def test_a_name_that_is_none():
    assert sentence(b"<dcc:") == f"{BEGINS} “dcc:” without a namespace."


@pytest.mark.parametrize("version", ["2.3.0", "3.0.0", "3.4.0", "3.4.0-rc.2", "4.0.0", "3.3", "33.0"])
def test_a_version_that_is_not_read(version):
    changed = certificate_bytes(THERMOCOUPLE, ('schemaVersion="3.3.0"', f'schemaVersion="{version}"'))
    assert (
        sentence(changed)
        == f"The certificate names version {version} of the format; versions 2.4 and 3.1 to 3.3 are read."
    )


def test_no_version():
    changed = certificate_bytes(THERMOCOUPLE, (' schemaVersion="3.3.0"', ""))
    assert sentence(changed) == "The certificate names no version of the format; versions 2.4 and 3.1 to 3.3 are read."


def test_more_bytes_than_are_read():
    assert sentence(b" " * (LARGEST_BYTES + 1)) == "The file has 20.0 MB; up to 20 MB are read."


def test_more_elements_than_any_certificate_has():
    assert sentence(ROOT.encode() + b"<a/>" * 200_000 + b"</dcc:digitalCalibrationCertificate>") == (
        "The file has more than 200000 elements; no certificate needs so many."
    )


def test_deeper_than_any_certificate_is():
    assert sentence(ROOT.encode() + b"<a>" * 120) == (
        "The file nests its elements more than 100 deep; no certificate does."
    )


BROKEN = [
    (
        THERMOCOUPLE,
        ("\n                    <si:unitXMLList>\\degreecelsius</si:unitXMLList>", ""),
        "Result 1, table 1, basic_referenceValue: no unit is stated, and none is guessed.",
    ),
    (
        FORCE_GAUGE,
        ("<si:value>0.950</si:value><si:unit>\\newton</si:unit>", "<si:value>0.950</si:value>"),
        "Result 1, table 1, basic_referenceValue: no unit is stated, and none is guessed.",
    ),
    (
        THERMOCOUPLE,
        ("550.10 850.05 959.97", "550,10 850,05 959,97"),
        "Result 1, table 1, basic_referenceValue, values: “550,10” is not a number.",
    ),
    (
        THERMOCOUPLE,
        ("550.10 850.05 959.97", "550.10 NaN 959.97"),
        "Result 1, table 1, basic_referenceValue, values: “NaN” is not a number.",
    ),
    (
        THERMOCOUPLE,
        ("550.10 850.05 959.97", "550.10 1e999 959.97"),
        "Result 1, table 1, basic_referenceValue, values: “1e999” is not a number.",
    ),
    (
        THERMOCOUPLE,
        ("550.10 850.05 959.97", "550.10 \u0668\u0665\u0660 959.97"),
        "Result 1, table 1, basic_referenceValue, values: “\u0668\u0665\u0660” is not a number.",
    ),
    (
        THERMOCOUPLE,
        ("550.10 850.05 959.97", "1 " * 2001),
        "Result 1, table 1, basic_referenceValue, values: more than 2000 values in one list.",
    ),
    (
        THERMOCOUPLE,
        ("550.10 850.05 959.97", "550.10 850.05"),
        "Result 1, table 1, basic_referenceValue: given in several units, with different numbers of values.",
    ),
    (
        THERMOCOUPLE,
        ("0.80 1.20 1.98", "0.80 1.20"),
        "Result 1, table 1, basic_measurementError, uncertainty: 3 numbers for 2 values.",
    ),
    (
        THERMOCOUPLE,
        ("1.1 1.2 1.4", "1.1 -1.2 1.4"),
        "Result 1, table 1, basic_measurementError: the uncertainty -1.2 is below zero.",
    ),
    (
        THERMOCOUPLE,
        (">2.00<", ">0<"),
        "Result 1, table 1, basic_measurementError: the coverage factor 0 is not above zero.",
    ),
    (
        THERMOCOUPLE,
        (">0.9545<", ">95.45<"),
        "Result 1, table 1, basic_measurementError: the coverage probability 95.45 is not up to 1.",
    ),
    (
        THERMOCOUPLE,
        ("<dcc:endPerformanceDate>2026-05-05", "<dcc:endPerformanceDate>05.05.2026"),
        "The last day of the calibration: “05.05.2026” is not a day.",
    ),
    (
        THERMOCOUPLE,
        ("<dcc:endPerformanceDate>2026-05-05", "<dcc:endPerformanceDate>2026-02-30"),
        "The last day of the calibration: “2026-02-30” is not a day.",
    ),
    (
        THERMOCOUPLE,
        ("<dcc:endPerformanceDate>2026-05-05", "<dcc:endPerformanceDate>2026-05-03"),
        "The calibration ends on 2026-05-03, before it begins on 2026-05-04.",
    ),
    (
        THERMOCOUPLE,
        ("<dcc:uniqueIdentifier>VS-T-2026-0417</dcc:uniqueIdentifier>", ""),
        "The certificate does not state the certificate’s identifier.",
    ),
    (
        THERMOCOUPLE,
        ("<dcc:name><dcc:content>Vogsósar Calibration</dcc:content></dcc:name>", ""),
        "The certificate does not state the calibration laboratory.",
    ),
]


@pytest.mark.parametrize(("name", "change", "expected"), BROKEN)
def test_a_certificate_that_misses_something_or_contradicts_itself(name, change, expected):
    assert sentence(certificate_bytes(name, change)) == expected
