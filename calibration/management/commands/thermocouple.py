"""Turn an emf into a temperature, or a temperature into an emf, from the command line."""

from argparse import ArgumentParser
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.management.base import BaseCommand

from calibration.domain.thermocouple_tolerances import tolerance_k
from calibration.domain.thermocouples import (
    KINDS,
    ThermocoupleError,
    emf_mv,
    sensitivity,
    temperature_from_reading,
)
from calibration.management.answers import Refused, as_json

PLACES = 6
"""Decimals printed of what is computed; the functions themselves are defined to fewer."""


class Command(BaseCommand):
    """`manage.py thermocouple K --emf-mv 38.789 --junction-c 23`; needs no database."""

    help = "Print the temperature of an emf, or the emf of a temperature, as JSON (ITS-90 functions, NIST SRD 60)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the type, one of the two quantities and the temperature of the reference junction."""
        parser.add_argument("kind", metavar="TYPE", help=f"the pair of wires: {', '.join(KINDS)}")
        asked = parser.add_mutually_exclusive_group(required=True)
        asked.add_argument("--emf-mv", help="the emf as measured, in mV")
        asked.add_argument("--temperature-c", help="the temperature of the tip, in degrees Celsius")
        parser.add_argument(
            "--junction-c", help="the reference junction in degrees Celsius; of a temperature, 0 if unsaid"
        )

    def handle(self, *args: object, **options: Any) -> None:
        """Compute and print, or refuse."""
        kind = options["kind"]
        if options["emf_mv"] is not None and options["junction_c"] is None:
            raise Refused("Say the temperature of the reference junction by --junction-c; 0 is that of an ice point.")
        junction_c = _number(options["junction_c"] or "0", "the reference junction")
        try:
            if options["emf_mv"] is not None:
                measured_mv = float(_number(options["emf_mv"], "the emf"))
                tip_c = temperature_from_reading(kind, measured_mv, float(junction_c))
            else:
                tip_c = float(_number(options["temperature_c"], "the temperature"))
                measured_mv = emf_mv(kind, tip_c) - emf_mv(kind, float(junction_c))
            slope = sensitivity(kind, tip_c)
        except ThermocoupleError as refusal:
            raise Refused(str(refusal)) from refusal
        answer = {
            "type": kind,
            "temperature_c": round(tip_c, PLACES),
            "junction_c": float(junction_c),
            "emf_mv": round(measured_mv, PLACES),
            "sensitivity_uv_per_k": round(1000 * slope, 3),
            "tolerance_k": {str(number): _tolerance(kind, number, tip_c) for number in (1, 2, 3)},
        }
        self.stdout.write(as_json(answer))


def _number(text: str, name: str) -> Decimal:
    try:
        value = Decimal(text)
    except InvalidOperation as error:
        raise Refused(f"“{text}” is no number for {name}; write it like 38.789.") from error
    if not value.is_finite():
        raise Refused(f"“{text}” is no number for {name}.")
    return value


def _tolerance(kind: str, number: int, tip_c: float) -> float | None:
    permitted = tolerance_k(kind, number, Decimal(repr(tip_c)))
    return None if permitted is None else round(float(permitted), PLACES)
