"""Every method at the bench in a real browser: opened, set up, led step by step to the verdict, by Enter alone."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from labsite.demo.setups import plausible_setup
from specimens.models import Specimen
from tests.browser.conftest import TABLET, Problems
from tests.factories.bench import Scene, bench_scene
from trials.actions.bench import enter_setup_values
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.steps import timed_steps
from trials.models import Observation, SetupValue, Trial
from trials.queries.methods import trial_edition
from trials.queries.setup_offers import setup_offers

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NEWEST = {edition.slug: edition for edition in sorted(EDITIONS.values(), key=lambda edition: edition.edition)}
"""The newest edition of each method."""

OWN = {"solution": "A", "resistivity_ohm_m": "3.95", "thickness_mm": "3.02"}
"""What no limit of the field itself tells: solution A of IEC 60112 with its resistivity at 23 °C (public excerpt), and
the measured thickness of a plate of 3.0 mm."""


def scene_of(edition: MethodEdition) -> Scene:
    """A job by this edition as of now: an open order where it knows one, else a level from the middle of its own."""
    level = None if edition.open_severity else format(edition.severities[len(edition.severities) // 2].value, "f")
    at = timezone.now().replace(microsecond=0)
    scene = bench_scene(at, method=edition.key, severity=level, specimens=3)
    Specimen.objects.filter(order_line=scene.line).update(thickness_mm="3.0")
    return scene


def held(page: Page) -> Page:
    """Hold the page's clock, so that only the test moves it."""
    now = timezone.now()
    page.clock.install(time=now - timedelta(seconds=60))  # it can only be held at a moment it has not passed
    page.clock.pause_at(now)
    return page


def set_up(page: Page, scene: Scene, trial: Trial) -> None:
    """Enter what the edition asks for and, where it reads a temperature, let it be steady."""
    edition = trial_edition(trial)
    offered = {key: offer.value for key, offer in setup_offers(trial, edition).items()}
    if trial.severity is not None:  # a figure in the unit of the level is that level, read before the start
        level = format(trial.severity, "f")
        own = [field for field in edition.setup_fields if field.unit and field.unit == edition.severity_unit]
        offered |= {field.key: level for field in own if not field.parameter}
    values = plausible_setup(edition, OWN | offered)
    enter_setup_values(by=scene.technician, at=timezone.now(), trial_id=trial.pk, values=values)
    page.reload()
    if edition.steady is None or trial.severity is None:
        return
    page.keyboard.press("8")
    for place in range(int(edition.number("steady_window_s")) // 10 + 1):
        page.clock.run_for(10_000 if place else 100)
        page.locator("#typing").fill(format(trial.severity, "f"))
        page.keyboard.press("Enter")
        expect(page.locator("#typing")).to_have_value("")
        expect(page.locator("#saving")).not_to_contain_text("not yet saved")
    page.keyboard.press("Enter")
    page.clock.run_for(1_500)


def run_through(page: Page, trial: Trial, look: Callable[[str], Any]) -> None:
    """Start, and press Enter for each step when the page offers it."""
    steps = timed_steps(trial_edition(trial), trial.severity)
    expect(page.locator("#keys .next")).to_contain_text(steps[0].title)
    look("setup")
    page.keyboard.press("Enter")
    page.clock.run_for(1_000)
    top = top_of_keys(page)
    beat = trial_edition(trial).beat
    for step in steps[1:]:
        wait_s = Decimal(0) if step.due_s is None or step.within else step.due_s
        if beat is not None and step.kind == beat.last:
            wait_s = until_the_last(trial)
        page.clock.fast_forward(int(wait_s * 1000))
        page.clock.run_for(1_000)
        look(step.kind)
        assert top_of_keys(page) == top  # nothing moves under a finger while the trial runs
        page.keyboard.press("Enter")
        expect(page.locator("#log li").first).to_contain_text(step.title if step is steps[-1] else "now")
        page.clock.run_for(1_000)
    expect(page.locator("#keys .next")).to_contain_text("Look at the verdict and sign")
    page.clock.run_for(500)  # the main key turned by itself; a press this soon would be aimed at what it said before
    kept = Observation.objects.filter(trial=trial).exclude(kind="temperature").order_by("pk")
    assert [row.kind for row in kept] == [step.kind for step in steps]


def top_of_keys(page: Page) -> float:
    """How far down the keys begin, in px."""
    return float(page.evaluate("document.getElementById('keys').getBoundingClientRect().top + window.scrollY"))


def until_the_last(trial: Trial) -> Decimal:
    """From the first to the last of what comes by itself, in s, as many as the set-up asks for."""
    edition = trial_edition(trial)
    assert edition.beat is not None
    asked = SetupValue.objects.filter(trial=trial, key=edition.beat.asked).latest("pk").value
    return (int(asked) - 1) * edition.number(edition.beat.every_s)


@pytest.mark.parametrize("slug", list(NEWEST))
def test_enter_leads_through_the_steps_of_any_method(
    slug: str,
    opened: Callable[..., Page],
    problems: Problems,
    accessible: Callable[[Page], None],
) -> None:
    scene = scene_of(NEWEST[slug])
    page = held(opened(scene.technician, TABLET))
    look = looker(page, slug)
    page.goto(f"/bench/open/{scene.specimens[0].number}/")
    look("open")
    accessible(page)
    page.get_by_role("button", name="Open the trial").click()
    page.wait_for_url("**/setup/")
    trial = Trial.objects.get()
    set_up(page, scene, trial)
    accessible(page)
    run_through(page, trial, look)
    accessible(page)
    page.keyboard.press("Enter")
    page.wait_for_url("**/sign/")
    look("sign")
    accessible(page)


def running(page: Page, scene: Scene) -> Trial:
    """A trial set up and started."""
    page.goto(f"/bench/open/{scene.specimens[0].number}/")
    page.get_by_role("button", name="Open the trial").click()
    page.wait_for_url("**/setup/")
    trial = Trial.objects.get()
    set_up(page, scene, trial)
    expect(page.locator("#keys .next")).to_have_attribute("data-key", "contact")
    page.keyboard.press("Enter")
    page.clock.run_for(1_000)
    return trial


def kept(trial: Trial) -> list[tuple[str, str]]:
    rows = Observation.objects.filter(trial=trial).order_by("pk")
    return [(row.kind, "" if row.t_s is None else format(row.t_s, "f")) for row in rows]


def test_the_flame_is_taken_away_as_soon_as_the_front_is_at_the_mark(opened: Callable[..., Page]) -> None:
    """30 s, or until the front is at 25 mm: two public pages on the horizontal burning test."""
    scene = scene_of(NEWEST["horizontal-flame"])
    page = held(opened(scene.technician, TABLET))
    trial = running(page, scene)
    page.keyboard.press("1")
    page.clock.run_for(21_000)
    expect(page.locator("#keys .next")).not_to_contain_text("Flame off")
    page.keyboard.press("2")  # the front is at the mark
    page.clock.run_for(600)
    expect(page.locator("#heading")).to_have_text("Take the flame away now: front at 25 mm.")
    expect(page.locator("#keys .next")).to_contain_text("Flame off")
    front = page.locator("[data-key=event-front_first-]")
    expect(front).to_have_attribute("aria-disabled", "true")
    expect(front).to_contain_text("at 22.0 s, once only")
    page.keyboard.press("2")  # comes once only
    page.keyboard.press("Enter")
    page.clock.run_for(600)
    expect(page.locator("#saving")).not_to_contain_text("not yet saved")
    assert kept(trial) == [("contact", "0.0"), ("ignites", "1.0"), ("front_first", "22.0"), ("withdrawn", "22.6")]


def test_a_bar_burned_to_the_clamp_gets_no_second_flame(opened: Callable[..., Page]) -> None:
    scene = scene_of(NEWEST["vertical-flame"])
    page = held(opened(scene.technician, TABLET))
    trial = running(page, scene)
    for wait_s, press in ((1, "1"), (8, "Enter"), (9, "5"), (1, "1")):  # ignites, flame off, clamp, flame out
        page.clock.run_for(wait_s * 1000)
        page.keyboard.press(press)
    page.clock.run_for(1_000)
    expect(page.locator("#heading")).to_have_text("Nothing burns and the watch is complete.")
    page.keyboard.press("Enter")
    expect(page.locator("#keys .next")).to_contain_text("Look at the verdict and sign")
    assert [kind for kind, _ in kept(trial)] == [
        "contact", "ignites", "withdrawn", "burned_to_clamp", "flame_out", "watch_ends",
    ]  # fmt: skip


def test_the_last_drop_is_offered_when_it_can_have_come(opened: Callable[..., Page]) -> None:
    """A drop every 30 s, 5 s more or less: the fiftieth comes 49 of them after the first, from 1225 s on."""
    scene = scene_of(NEWEST["tracking"])
    page = held(opened(scene.technician, TABLET))
    trial = running(page, scene)
    main = page.locator("#keys .next")
    page.clock.fast_forward(1_200_000)
    page.clock.run_for(1_000)
    expect(page.locator("#clock")).to_contain_text("drop 41 of 50 at 20:00.0 min, next in 28 s")
    expect(page.locator("#heading")).to_have_text("The last, drop 50, falls in about 4:28 min.")
    expect(main).to_have_attribute("aria-disabled", "true")
    page.keyboard.press("Enter")
    page.clock.run_for(24_000)
    expect(main).not_to_have_attribute("aria-disabled", "true")
    expect(main).to_contain_text("drop 50, about 24:30.0 min")
    page.keyboard.press("Enter")
    expect(page.locator("#saving")).not_to_contain_text("not yet saved")
    assert kept(trial) == [("contact", "0.0"), ("withdrawn", "1226.0")]


def looker(page: Page, slug: str) -> Callable[[str], Any]:
    """What looks at each page on the way: nothing wider than the tablet, no digit on two keys."""

    def look(_where: str) -> None:
        wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wider == 0, slug
        digits = page.locator("#keys kbd").all_text_contents()
        assert len(digits) == len(set(digits)), (slug, digits)

    return look
