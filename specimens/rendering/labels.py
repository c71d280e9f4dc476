"""What stands on the labels of items and specimens; the code holds the digits of the number and nothing else."""

from collections.abc import Sequence

from calibration.rendering.labels import Label, label_pdf
from labsite.ledger.numbering import grouped
from labsite.ledger.paper import missing_glyphs
from specimens.queries.methods import method_offers
from specimens.queries.orders import severity_of
from specimens.queries.pieces import LabelPiece


def labels_pdf(pieces: Sequence[LabelPiece]) -> bytes:
    """One page per piece, 50 x 25 mm."""
    return label_pdf([_label(piece) for piece in pieces])


def _label(piece: LabelPiece) -> Label:
    item, specimen = piece.item, piece.specimen
    line = specimen.order_line if specimen is not None else item.order_line
    kind = "specimen" if specimen is not None else f"item, {item.counted} counted"
    thickness = f", {specimen.thickness_mm:f} mm" if specimen is not None and specimen.thickness_mm is not None else ""
    offer = method_offers().get(line.method_key)
    method = f"{offer.short_title}, {offer.short_standard}" if offer is not None else line.method_key
    return Label(
        number_digits=piece.number,
        headline="-".join(grouped(piece.number)),
        lines=(
            kind,
            _printable(item.description),
            _printable(f"{item.material}, {item.colour}{thickness}"),
            _printable(f"Line {line.position}: {method}, {severity_of(line)}"),
        ),
    )


def _printable(words: str) -> str:
    """The words, or a pointer to the screen where the label's fonts lack a character: never a box in its place."""
    return "(name: see the screen)" if missing_glyphs(words) else words
