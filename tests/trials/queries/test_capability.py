"""People and rigs that a line needs and the laboratory has not, told before the contract review is signed."""

from calibration.actions.commissioning import open_commissioning
from calibration.models import Rig
from tests.factories.ledger import NOON
from tests.factories.specimens import OrderLineFactory
from tests.factories.trials import checker_for
from trials.models import Authorisation
from trials.queries.capability import capability_warnings


def test_what_a_line_has_is_not_told(scene):
    checker_for(scene)
    told = capability_warnings([scene.line], NOON)
    assert told == {scene.line.pk: ["Nobody is authorised to sign certificates by 2-11:2021."]}


def test_no_authorisation_and_no_rig_in_use_are_told_of_each_line(scene):
    Authorisation.objects.update(ended_at=NOON, ended_by=scene.line.order.taken_by)
    Rig.objects.update(in_use=False)
    other = OrderLineFactory.create(order=scene.line.order, position=9, method_key="ball-pressure@2014")
    acts = "perform trials, check trials or sign certificates"
    assert capability_warnings([scene.line, other], NOON) == {
        scene.line.pk: [
            f"Nobody is authorised to {acts} by 2-11:2021.",
            "No rig of the kind “glow wire” is in use.",
        ],
        other.pk: [
            f"Nobody is authorised to {acts} by 10-2:2014.",
            "No rig of the kind “ball pressure” is in use.",
        ],
    }


def test_a_rig_that_is_not_released_is_none_to_rely_on(scene):
    checker_for(scene)
    open_commissioning(by=scene.lead, at=NOON, rig=scene.rig, occasion="repaired", reason="New bearing")
    told = capability_warnings([scene.line], NOON)[scene.line.pk]
    assert told[1:] == ["No rig of the kind “glow wire” is released for use."]


def test_the_review_says_it_before_it_is_signed(scene, signed_in):
    Rig.objects.update(in_use=False)
    scene.line.order.reviews.all().delete()
    page = signed_in("lead").get(f"/orders/{scene.line.order.number}/review/")
    assert page.context["lacking"][0][0] == scene.line.position
    assert "No rig of the kind “glow wire” is in use." in page.text
