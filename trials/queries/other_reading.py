"""What an order line's signed trials could be read as under the method that can be read beside its own."""

from trials.domain.other_index import OtherReading, RanTrial, other_edition, other_reading
from trials.domain.record_json import record_from_json
from trials.domain.records import RecordError
from trials.models import SignedVerdict
from trials.queries.results import LineStanding
from trials.queries.sheets import newest_edition


def reading_beside(standing: LineStanding) -> OtherReading | None:
    """The reading, from the records as they were signed; None without signed trials or another method to read.

    Two queries where there is one: the records, and the other method's newest figures.
    """
    own = standing.edition
    beside = None if own is None else other_edition(own)
    signed = {one.signed.pk: one for one in standing.trials if one.signed is not None}
    if own is None or beside is None or not signed:
        return None
    records = SignedVerdict.objects.filter(pk__in=signed).values_list("pk", "record")
    order = {pk: place for place, pk in enumerate(signed)}
    try:
        ran = [RanTrial(signed[pk].specimen_text, record_from_json(own, plain), order[pk]) for pk, plain in records]
        return other_reading(own, newest_edition(beside.key)[1], ran)
    except RecordError as refusal:
        why = f"A record does not fit: {refusal}"
        return OtherReading(beside.key, False, f"{beside.short_title} cannot be read from these trials.", (why,))
