"""The drawing of a trial in which nothing is expected to burn: every recorded moment, no label over another."""

from decimal import Decimal

from tests.trials.rendering.test_course import boxes
from trials.domain.course import Course, course_of, named_moments
from trials.domain.methods.registry import EDITIONS, method_edition
from trials.domain.records import Observation
from trials.rendering.events import NARROW_PX, events_svg

BALL = next(edition for edition in EDITIONS.values() if edition.rig_kind == "ball pressure")


def course(*rows: tuple[str, str]) -> Course:
    return course_of(BALL, [Observation(str(n), kind, Decimal(t)) for n, (kind, t) in enumerate(rows)])


WHOLE = (("contact", "0.0"), ("withdrawn", "3605.0"), ("in_water", "3612.5"), ("out_of_water", "3970.0"),
         ("watch_ends", "4020.0"))  # fmt: skip


def test_every_moment_is_named_once_and_no_label_runs_into_another() -> None:
    placed = boxes(events_svg(course(*WHOLE), label="what happened"))
    words = [words for *_, words in placed if "s" in words and "." in words]
    assert words == ["ball on 0.0 s", "ball off 3605.0 s", "in the water 3612.5 s", "out of the water 3970.0 s"]
    for number, (left, right, y, said) in enumerate(placed):
        assert left >= -1, said
        assert right <= NARROW_PX + 1, said
        for other_left, other_right, other_y, other in placed[number + 1 :]:
            assert abs(y - other_y) >= 12 or right <= other_left or left >= other_right, f"“{said}” over “{other}”"


def test_what_acted_is_a_line_from_its_start_to_its_end() -> None:
    acted = [(one.start_title, one.start_s, one.end_s) for one in course(*WHOLE[:3]).applications]
    assert acted == [
        ("ball on", Decimal("0.0"), Decimal("3605.0")),
        ("ball off", Decimal("3605.0"), Decimal("3612.5")),
        ("in the water", Decimal("3612.5"), None),
    ]


def test_two_things_at_one_moment_share_their_label() -> None:
    both = course(("contact", "0.0"), ("withdrawn", "5.0"), ("ball_moved", "5.0"))
    assert named_moments(both) == ((Decimal("0.0"), "ball on"), (Decimal("5.0"), "ball off, ball slipped or lifted"))


def test_without_a_start_there_is_nothing_to_draw() -> None:
    assert events_svg(course(("ball_moved", "3.0")), label="nothing") == ""


def test_the_glow_wire_s_own_events_stand_beside_flames_and_drips() -> None:
    edition = method_edition("glow-wire-end-product@2021")
    rows = [Observation("1", "contact", Decimal(0)), Observation("2", "carried_off", Decimal("30.2"))]
    assert course_of(edition, rows).others == (("flame left with the wire", Decimal("30.2")),)
