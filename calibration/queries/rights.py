"""Which acts of this app a person's roles include."""

from labsite.ledger.models import Role, User

KEEPERS = frozenset({Role.QUALITY})
"""Register instruments, enter and decide calibrations, put back into service."""
RIG_KEEPERS = frozenset({Role.QUALITY, Role.LEAD})
"""Register rigs, mount instruments and take them off."""
TAKERS = frozenset({Role.TECHNICIAN, Role.LEAD, Role.QUALITY, Role.COUNTER})
"""Take an instrument out of service at once."""


def rights_of(person: object) -> dict[str, bool]:
    """What a page offers to `person`: keep (instruments), rigs, take_out."""
    user = person if isinstance(person, User) else None
    return {
        name: user is not None and user.may(*roles)
        for name, roles in (("keep", KEEPERS), ("rigs", RIG_KEEPERS), ("take_out", TAKERS))
    }
