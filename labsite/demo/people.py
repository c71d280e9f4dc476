"""The invented laboratory of the demo: its name, six people, its places."""

from datetime import datetime

from labsite import actions
from labsite.ledger.models import Place, Role, User

LABORATORY = {
    "name": "Brambleford Flame Lab (invented)",
    "address": "Kiln Lane 8\n00417 Brambleford\nNowhere",
    "zone": "Europe/Berlin",
    "language": "en",
}
PASSWORD = "copper-kettle-42"  # noqa: S105  (printed for everyone to see; the demo refuses to be seeded in production)

HUGO = "hugo"
PEOPLE: dict[str, tuple[str, list[str]]] = {
    HUGO: ("Hugo Pennywhistle", [Role.ADMINISTRATOR, Role.QUALITY]),
    "petra": ("Petra Lonsdale-Oakes", [Role.LEAD, Role.SIGNATORY]),
    "tilda": ("Tilda Marshwood", [Role.COUNTER]),
    "oren": ("Oren Castleby", [Role.TECHNICIAN]),
    "mina": ("Mina Radkova-Thorn", [Role.TECHNICIAN, Role.CHECKER]),
    "jory": ("Jory Valemont", [Role.TECHNICIAN, Role.CHECKER, Role.COUNTER]),
}
"""Short name to full name and roles; the first founds the laboratory."""

PLACES = [
    ("C-1", "Shelf behind the counter, left", Place.Kind.SHELF),
    ("C-2", "Shelf behind the counter, right", Place.Kind.SHELF),
    ("CH-1", "Conditioning room", Place.Kind.CHAMBER),
    ("CH-2", "Conditioning cabinet", Place.Kind.CHAMBER),
    ("CH-3", "Standard atmosphere, plates and bars", Place.Kind.CHAMBER),
    ("OV-1", "Ageing oven", Place.Kind.CHAMBER),
    ("DE-1", "Desiccator", Place.Kind.CHAMBER),
    ("B-1", "Bench of GW-1", Place.Kind.BENCH),
    ("B-2", "Bench of GW-2", Place.Kind.BENCH),
    ("B-3", "Bench of the burners", Place.Kind.BENCH),
    ("B-4", "Bench of oven and tracking", Place.Kind.BENCH),
    ("K-1", "Calibration cupboard", Place.Kind.OTHER),
]


def found_laboratory(*, at: datetime) -> dict[str, User]:
    """Name the laboratory, enter its people and places; returns the people by short name."""
    name, roles = PEOPLE[HUGO]
    hugo = actions.found_laboratory(username=HUGO, full_name=name, password=PASSWORD, at=at, **LABORATORY)
    person = actions.change_person(
        by=hugo, at=at, person=hugo, full_name=name, email="", roles=roles, is_active=True, password=""
    )
    people = {HUGO: person}
    for username, (full_name, held) in PEOPLE.items():
        if username != HUGO:
            people[username] = actions.add_person(
                by=hugo, at=at, username=username, full_name=full_name, email="", password=PASSWORD, roles=held
            )
    for code, place_name, kind in PLACES:
        actions.add_place(by=hugo, at=at, code=code, name=place_name, kind=kind)
    return people
