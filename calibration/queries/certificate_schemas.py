"""Checking a digital calibration certificate against its published schema, from a folder on this machine only.

The schemas are not part of this program; a laboratory keeps its own copy, laid out as they are published:
`dcc/v3.3.0/dcc.xsd` and what that names beside it.
"""

from pathlib import Path

from lxml import etree

from calibration.domain.certificate_xml import CertificateError, root_of

MOST_FAULTS = 20


class SchemaMissingError(ValueError):
    """There is no usable schema for the certificate's version; the message is a sentence."""


def schema_faults(content: bytes, folder: Path) -> list[str]:
    """Return what the schema of the certificate's own version finds wrong, line by line; nothing where it fits.

    Raises SchemaMissingError where the folder holds no such schema, CertificateError where the file is not read at all.
    """
    root = root_of(content)
    schema = _schema(folder, root.get("schemaVersion", ""))
    schema.validate(root)
    log = iter(schema.error_log)  # type: ignore[call-overload]  # it can be walked through, its stubs do not say so
    found = [f"Line {fault.line}: {fault.message[:300]}" for fault in log]
    return found[:MOST_FAULTS]


def check_against_schema(content: bytes, folder: Path) -> None:
    """Raise CertificateError with the first fault the schema finds."""
    faults = schema_faults(content, folder)
    if faults:
        more = f" ({len(faults)} faults)" if len(faults) > 1 else ""
        raise CertificateError(f"The file does not follow the schema of its version{more}. {faults[0]}")


def _schema(folder: Path, version: str) -> etree.XMLSchema:
    path = folder / "dcc" / f"v{version}" / "dcc.xsd"
    if not path.is_file():
        raise SchemaMissingError(f"There is no schema of version {version} in {folder}.")
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        document = etree.parse(path, parser)
        for place in document.iterfind("{http://www.w3.org/2001/XMLSchema}import"):
            if "://" in place.get("schemaLocation", ""):
                raise SchemaMissingError(f"The schema {path} names another one on the network; none is fetched.")
        return etree.XMLSchema(document)
    except (etree.XMLSyntaxError, etree.XMLSchemaParseError) as error:
        raise SchemaMissingError(f"The schema {path} cannot be used: {error}.") from error
