"""Properties of the end-product judge that hold for any course of a trial."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.glow_wire_trial import EDITION_2021, INSTRUMENTS, course, row, steady_readings, trial
from trials.domain.line_result import Asked, LineResult, LineTrial
from trials.domain.records import Observation
from trials.domain.verdicts import verdict_bytes, verdict_from_bytes

D = Decimal
SEVERITY_OF_OUTCOME = {"pass": 0, "not judged": 1, "fail": 2}
TENTHS = st.integers(min_value=0, max_value=900).map(lambda n: D(n) / 10)
BURNS = st.lists(
    st.tuples(st.sampled_from(["bright", "colourless", "corona", "glow"]), TENTHS, st.one_of(st.none(), TENTHS)),
    max_size=5,
)
EVENTS = st.lists(
    st.tuples(st.sampled_from(["drip", "layer_catches", "layer_out", "wire_through"]), TENTHS), max_size=4
)
OUTSIDE = st.sampled_from(
    [
        *(("force_n", D("1.06")), ("force_n", D("0.84")), ("light_lx", D(21)), ("tip_clean", False)),
        *(("board_mm", D("9.9")), ("penetration_mm", D("7.6")), ("foil_check_c", D("970.1"))),
        *(("approach_mm_s", D(26)), ("hood_off", False)),
    ]
)


def rows_of(burns: list[tuple[str, Decimal, Decimal | None]], events: list[tuple[str, Decimal]]) -> list[Observation]:
    """Rows of a course: each burn is (kind, start, length), a length of None leaves its end out."""
    rows = [row(kind, t, row=f"event {n}") for n, (kind, t) in enumerate(events)]
    for n, (kind, start, length) in enumerate(burns):
        names = ("glow_starts", "glow_ends", None) if kind == "glow" else ("ignites", "flame_out", kind)
        rows.append(row(names[0], start, names[2], row=f"start {n}"))
        if length is not None:
            rows.append(row(names[1], start + length, names[2], row=f"end {n}"))
    return list(course(*rows, watch="200.0"))


@given(burns=BURNS.filter(len), events=EVENTS, which=st.integers(0, 4), longer=TENTHS)
def test_a_longer_flame_never_improves_the_verdict(
    burns: list[tuple[str, Decimal, Decimal | None]], events: list[tuple[str, Decimal]], which: int, longer: Decimal
) -> None:
    known = [(kind, start, length if length is not None else D(1)) for kind, start, length in burns]
    kind, start, length = known[which % len(known)]
    stretched = [*known]
    stretched[which % len(known)] = (kind, start, length + longer)
    before, after = (EDITION_2021.judge(trial(*rows_of([*b], events))).outcome for b in (known, stretched))
    assert SEVERITY_OF_OUTCOME[after] >= SEVERITY_OF_OUTCOME[before]


@given(burns=BURNS, events=EVENTS, data=st.data())
def test_judging_does_not_depend_on_the_order_of_rows(
    burns: list[tuple[str, Decimal, Decimal | None]], events: list[tuple[str, Decimal]], data: st.DataObject
) -> None:
    rows = rows_of(burns, events)
    mixed = trial(
        *data.draw(st.permutations(rows)),
        temperature_readings=tuple(data.draw(st.permutations(steady_readings()))),
        instruments=tuple(data.draw(st.permutations(INSTRUMENTS))),
    )
    assert verdict_bytes(EDITION_2021.judge(mixed)) == verdict_bytes(EDITION_2021.judge(trial(*rows)))


@given(burns=BURNS, events=EVENTS, outside=OUTSIDE)
def test_a_set_up_outside_its_limits_is_never_a_pass_or_a_fail(
    burns: list[tuple[str, Decimal, Decimal | None]],
    events: list[tuple[str, Decimal]],
    outside: tuple[str, Decimal | bool],
) -> None:
    verdict = EDITION_2021.judge(trial(*rows_of(burns, events), setup=dict([outside])))
    assert verdict.outcome == "invalid"


@given(burns=BURNS, events=EVENTS, key=st.sampled_from([f.key for f in EDITION_2021.setup_fields if f.required]))
def test_a_missing_required_value_is_never_a_pass_or_a_fail(
    burns: list[tuple[str, Decimal, Decimal | None]], events: list[tuple[str, Decimal]], key: str
) -> None:
    assert EDITION_2021.judge(trial(*rows_of(burns, events), setup={key: None})).outcome == "not judged"


@given(burns=BURNS, events=EVENTS)
def test_an_unended_flame_is_never_a_pass(
    burns: list[tuple[str, Decimal, Decimal | None]], events: list[tuple[str, Decimal]]
) -> None:
    counted_open = any(length is None and kind != "corona" for kind, _, length in burns)
    outcome = EDITION_2021.judge(trial(*rows_of(burns, events))).outcome
    assert not (counted_open and outcome == "pass")


@given(burns=BURNS, events=EVENTS)
def test_a_verdict_comes_back_from_its_bytes_and_is_repeated_byte_for_byte(
    burns: list[tuple[str, Decimal, Decimal | None]], events: list[tuple[str, Decimal]]
) -> None:
    record = trial(*rows_of(burns, events))
    verdict = EDITION_2021.judge(record)
    assert verdict_from_bytes(verdict_bytes(verdict)) == verdict
    assert verdict_bytes(EDITION_2021.judge(replace(record))) == verdict_bytes(verdict)


PLACES = st.lists(
    st.tuples(st.sampled_from(["01", "02", "03"]), st.sampled_from(["pass", "fail", "invalid"])), min_size=1, max_size=6
)
_VERDICTS = {
    "pass": EDITION_2021.judge(trial(*course())),
    "fail": EDITION_2021.judge(trial(*course(row("ignites", "6.5"), row("flame_out", "66.0")))),
    "invalid": EDITION_2021.judge(trial(*course(), setup={"tip_clean": False})),
}


def _line(places: list[tuple[str, str]], shuffled: list[int]) -> LineResult:
    seen: set[str] = set()
    trials = []
    for number, (specimen, outcome) in enumerate(places):
        trials.append(LineTrial(specimen, _VERDICTS[outcome], number, further_point=specimen in seen))
        seen.add(specimen)
    return EDITION_2021.judge_line(Asked(D(850), 2), [trials[n] for n in shuffled])


@given(places=PLACES, data=st.data())
def test_a_line_with_several_places_does_not_depend_on_the_order_of_its_trials(
    places: list[tuple[str, str]], data: st.DataObject
) -> None:
    in_order = list(range(len(places)))
    assert _line(places, data.draw(st.permutations(in_order))) == _line(places, in_order)


@given(places=PLACES, specimen=st.sampled_from(["01", "02", "03"]))
def test_a_further_place_that_fails_never_makes_a_line_pass(places: list[tuple[str, str]], specimen: str) -> None:
    with_fail = [*places, (specimen, "fail")]
    assert _line(with_fail, list(range(len(with_fail)))).state != "passed"


@given(out=TENTHS, longer=TENTHS)
def test_a_longer_flame_never_improves_the_verdict_where_the_line_on_a_flame_fails(
    out: Decimal, longer: Decimal
) -> None:
    edition = EDITION_2021.revised(replace(EDITION_2021.parameter("flame_line"), value="fails"))
    lengths = (D("6.5") + out, D("6.5") + out + longer)
    outcomes = [
        edition.judge(trial(*course(row("ignites", "6.5"), row("flame_out", end), watch="200.0"))).outcome
        for end in lengths
    ]
    assert SEVERITY_OF_OUTCOME[outcomes[0]] <= SEVERITY_OF_OUTCOME[outcomes[1]]
