"""One complete certificate content, invented, for the tests of pure functions."""

from datetime import date, datetime, timedelta, timezone

from reports.domain.content import (
    NO_MEASURE,
    NO_SAMPLING,
    OWN_WORK,
    RELATES,
    SCHEMA,
    TITLE,
    WHOLE_ONLY,
    AgreementContent,
    CertificateContent,
    ClientContent,
    LaboratoryContent,
    LineContent,
    PersonActContent,
)
from reports.domain.content_items import DeviationContent, ItemContent, PhotoContent, SpecimenContent, Stated
from reports.domain.content_trials import (
    ConditioningContent,
    CorrectionContent,
    CriterionContent,
    EventContent,
    InstrumentContent,
    QuantityContent,
    StretchContent,
    TrialContent,
)

WINTER = timezone(timedelta(hours=1))


def at(hour: int, day: int = 10) -> datetime:
    """A moment of March 2026 at the laboratory."""
    return datetime(2026, 3, day, hour, tzinfo=WINTER)


DEVIATION = DeviationContent(
    "Cracks near the hinge.", date(2026, 3, 5), "test anyway", "Carla Contact", "Please test.", date(2026, 3, 6),
    ("2600010025",),
)  # fmt: skip
ITEM = ItemContent(
    number="2600010017",
    received_at=at(9, 5),
    parcel="sound outside, brought by post",
    description=Stated("Plug insert", "laboratory"),
    client_name=Stated("Insert 7", "client"),
    material=Stated("PA66-GF25", "client"),
    colour=Stated("grey", "laboratory"),
    count=Stated("3 counted", "laboratory"),
    condition=Stated("sound", "laboratory"),
    specimens=("2600010025",),
    deviations=(DEVIATION,),
    photos=(PhotoContent("2600010017", "as received", at(10, 5), "a" * 64),),
)
TRIAL = TrialContent(
    specimen=SpecimenContent(
        "2600010025", "2600010017", Stated("3.0 mm", "laboratory"), Stated("moulded side", "laboratory")
    ),
    share="counts",
    tested_at=at(12),
    signed_at=at(13),
    performed_by="Tess Technician",
    rig="GW-1",
    place="Fire room, Testbench Laboratory",
    outcome="pass",
    sentence="Passed at 850 °C: no flame.",
    reasons=(),
    rule_version="1",
    quantities=(QuantityContent("application", "In contact", "t_a", "s", "30.0"),),
    criteria=(CriterionContent("layer", "The layer must not catch", "not caught", "must not", True, "", False, True),),
    setup=(CriterionContent("force_n", "Force", "0.96 N", "0.95 ± 0.10 N", True, "", False, True),),
    warnings=(),
    doubt="",
    conditioning=ConditioningContent(
        "Room", "C-1, Conditioned room", "HY-01", at(9, 8), at(11), 170_000, 2_400,
        (StretchContent(at(1, 9), at(2, 9), "gap"),),
    ),
    instruments=(
        InstrumentContent(
            "timer", "TM-01", "000026", "Timer", date(2026, 1, 9), date(2027, 1, 9), "Example Calibrations", "", "E-7"
        ),
    ),
    events=(EventContent("1", "contact", "Contact", "0.0", ""),),
    corrections=(CorrectionContent("Flame out", "45.5 s", "43.5 s", "pressed late", "Tess Technician", at(14)),),
    photos=(),
)  # fmt: skip
LINE = LineContent(
    position=1,
    subject="Plug insert",
    method_key="glow-wire-end-product@2021",
    method="Glow-wire test on end products",
    standard="IEC 60695-2-11:2021",
    apparatus="IEC 60695-2-10:2021",
    severity="850 °C",
    product_standard="",
    ordered=1,
    state="passed",
    sentence="Passed at 850 °C: specimen 26-0001-002-5, no flame.",
    reasons=(),
    flags=(),
    conditioning_asked=True,
    agreement=AgreementContent("Inherent in the standard", "", "Carla Contact", date(2026, 3, 4), "Lena Lead"),
    confirmation="Confirmed.",
    confirmed=True,
    trials=(TRIAL,),
    checked=PersonActContent("Cora Checker", at(15), date(2025, 12, 10)),
    signed=PersonActContent("Sid Signatory", at(17), date(2025, 12, 10)),
)
CONTENT = CertificateContent(
    schema=SCHEMA,
    title=TITLE,
    number="26-0001-C1",
    language="en",
    laboratory=LaboratoryContent("Testbench Laboratory", "Probe Lane 1", "Europe/Berlin"),
    client=ClientContent("Example Plugs", "Sample Street 1", "Carla Contact"),
    order="2600018",
    purchase_order="0047",
    items=(ITEM,),
    lines=(LINE,),
    issued_at=at(17),
    sampling=NO_SAMPLING,
    external=OWN_WORK,
    statements=(RELATES, NO_MEASURE, WHOLE_ONLY),
    amendment=None,
)
