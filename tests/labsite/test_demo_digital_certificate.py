"""The demo's certificate that came as data: entered as it says, waiting for somebody to decide."""

from datetime import timedelta

import pytest

from calibration.queries.data_files import BesideFile, beside_data_file
from labsite.demo.digital_certificate import tell_digital_certificate
from labsite.demo.people import found_laboratory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db


def test_the_spare_thermocouple_waits_with_the_figures_of_its_file():
    people = found_laboratory(at=NOON - timedelta(days=45))
    made = tell_digital_certificate(people, at=NOON - timedelta(days=44), now=NOON)
    assert made.awaits
    assert beside_data_file(made) == BesideFile(())
    assert (made.instrument.serial_number, made.serial_on_certificate) == ("INV-0911", "INV-0911")
    assert [str(point.indication) for point in made.points.order_by("pk")] == ["550.90", "851.25", "961.95"]
    assert made.issued_on is not None
    assert made.calibrated_on < made.issued_on
