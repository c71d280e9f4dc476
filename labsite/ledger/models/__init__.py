"""Tables of the ledger app."""

from labsite.ledger.models.entries import Book, Entry
from labsite.ledger.models.files import StoredFile
from labsite.ledger.models.laboratory import Laboratory, Language, Place
from labsite.ledger.models.people import Role, RoleHolding, User
from labsite.ledger.models.series import Series, Submission

__all__ = [
    "Book",
    "Entry",
    "Laboratory",
    "Language",
    "Place",
    "Role",
    "RoleHolding",
    "Series",
    "StoredFile",
    "Submission",
    "User",
]
