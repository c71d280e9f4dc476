"""Digital calibration certificates of invented laboratories, whole and broken; the files lie in `fixtures`."""

from pathlib import Path

FOLDER = Path(__file__).parents[2] / "fixtures" / "digital_certificates"
THERMOCOUPLE, FORCE_GAUGE, HYGROMETER = "thermocouple_3_3_0.xml", "force_gauge_3_1_2.xml", "hygrometer_2_4_0.xml"


def certificate_bytes(name: str = THERMOCOUPLE, *changes: tuple[str, str]) -> bytes:
    """Return a certificate's bytes, with pieces of its text replaced; each piece must be there."""
    text = (FOLDER / name).read_text(encoding="utf-8")
    for before, after in changes:
        assert before in text, before
        text = text.replace(before, after)
    return text.encode()
