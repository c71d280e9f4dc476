"""Tables of the specimens app."""

from specimens.models.clients import Client, Contact
from specimens.models.conditioning import ClimateRecord, ClimateUpload, Stay, StaySpecimen, StretchExplanation
from specimens.models.orders import ContractReview, DecisionRule, Order, OrderLine
from specimens.models.pieces import Custody, Deviation, DeviationAnswer, Item, Photo, Receipt, Specimen

__all__ = [
    "Client",
    "ClimateRecord",
    "ClimateUpload",
    "Contact",
    "ContractReview",
    "Custody",
    "DecisionRule",
    "Deviation",
    "DeviationAnswer",
    "Item",
    "Order",
    "OrderLine",
    "Photo",
    "Receipt",
    "Specimen",
    "Stay",
    "StaySpecimen",
    "StretchExplanation",
]
