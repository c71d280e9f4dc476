"""Certificates against the published schemas, which lie outside this project."""

import pytest

from calibration.domain.certificate_xml import CertificateError
from calibration.queries.certificate_schemas import SchemaMissingError, check_against_schema, schema_faults
from tests.calibration.digital_certificates import FORCE_GAUGE, HYGROMETER, THERMOCOUPLE, certificate_bytes
from tests.calibration.reference_data import reference_path


@pytest.fixture
def schemas():
    return reference_path("dcc", "xsd")


@pytest.mark.parametrize("name", [THERMOCOUPLE, FORCE_GAUGE])
def test_our_own_examples_follow_the_published_schema(schemas, name):
    assert schema_faults(certificate_bytes(name), schemas) == []


@pytest.mark.parametrize("name", ["typical", "extensive"])
@pytest.mark.parametrize("version", ["3.1.1", "3.1.2", "3.2.0", "3.2.1", "3.3.0"])
def test_the_published_examples_follow_every_version(schemas, name, version):
    # One reader serves these versions: the PTB's examples fit each of them, their version aside.
    content = reference_path("dcc", f"dcc_gp_temperature_{name}_v12.xml").read_bytes()
    changed = content.replace(b'schemaVersion="3.1.1"', f'schemaVersion="{version}"'.encode())
    assert schema_faults(changed, schemas) == []


def test_both_wordings_of_an_expanded_uncertainty_follow_the_newest_schema(schemas):
    older = certificate_bytes(
        THERMOCOUPLE,
        ("measurementUncertaintyUnivariateXMLList>", "expandedUncXMLList>"),
        ("<si:expandedMUXMLList>", ""),
        ("</si:expandedMUXMLList>", ""),
        ("valueExpandedMUXMLList", "uncertaintyXMLList"),
    )
    assert schema_faults(older, schemas) == []


def test_what_does_not_follow_is_named_with_its_line(schemas):
    changed = certificate_bytes(THERMOCOUPLE, ("<dcc:issueDate>2026-05-07", "<dcc:issueDate>7 May"))
    with pytest.raises(CertificateError) as refusal:
        check_against_schema(changed, schemas)
    assert str(refusal.value).startswith("The file does not follow the schema of its version")
    assert "Line 18: Element '{https://ptb.de/dcc}issueDate'" in str(refusal.value)


def test_a_version_without_its_schema(tmp_path):
    with pytest.raises(SchemaMissingError) as refusal:
        schema_faults(certificate_bytes(HYGROMETER), tmp_path)
    assert str(refusal.value) == f"There is no schema of version 2.4.0 in {tmp_path}."


def _schema(folder, text):
    place = folder / "dcc" / "v3.3.0"
    place.mkdir(parents=True)
    (place / "dcc.xsd").write_text(text)


def test_a_schema_that_names_another_on_the_network_is_not_used(tmp_path):
    _schema(
        tmp_path,
        '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema">'
        '<xs:import namespace="https://ptb.de/si" schemaLocation="http://127.0.0.1:9/si.xsd"/></xs:schema>',
    )
    with pytest.raises(SchemaMissingError, match="names another one on the network; none is fetched"):
        schema_faults(certificate_bytes(), tmp_path)


def test_a_schema_that_is_none(tmp_path):
    _schema(tmp_path, "<xs:schema")
    with pytest.raises(SchemaMissingError, match="cannot be used"):
        schema_faults(certificate_bytes(), tmp_path)
