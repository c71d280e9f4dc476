"""The bench in a real browser: set-up, steady minute, a timed trial with a reload and a lost network, the signature."""

from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from tests.browser.conftest import TABLET, Problems
from tests.factories.bench import SETUP, Scene, bench_scene
from trials.models import Observation, SetupValue, SignedVerdict, Trial

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
RIG = (
    "light_lx", "penetration_mm", "layer_distance_mm", "tissue_g_m2", "board_mm", "chamber_m3", "thermocouple_mm",
    "foil_check_c",
)  # fmt: skip
"""Values that stay with a rig, in the order in which they are asked on a rig's first trial."""
READINGS = ("850.4", "850.9", "850,2", "851.1", "850.6", "850.8", "850.4")


@pytest.fixture
def bench() -> Scene:
    """A job at the bench as of now: the pages ask the server's own clock."""
    return bench_scene(timezone.now().replace(microsecond=0))


def next_key(page: Page) -> Any:
    """The one key that Enter presses."""
    return page.locator("#keys .next")


def typed(page: Page, text: str) -> None:
    """Type into the box that is open, and Enter."""
    page.locator("#typing").fill(text)
    page.keyboard.press("Enter")


def saved(page: Page) -> None:
    """Nothing waits on the tablet any more."""
    expect(page.locator("#saving")).not_to_contain_text("not yet saved")


def open_trial(page: Page, scene: Scene) -> Trial:
    """Scan the specimen and open its trial."""
    page.goto("/bench/")
    page.locator("#scan").fill(scene.specimens[0].number)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Glow wire, end product")
    page.get_by_role("button", name="Open the trial").click()
    page.wait_for_url("**/setup/")
    return Trial.objects.get()


def set_up(page: Page) -> None:
    """Enter every value that Enter asks for, in the order it asks."""
    for key in (*RIG, "force_n"):
        page.keyboard.press("Enter")
        typed(page, SETUP[key].replace(".", ","))
        expect(page.locator("#panel")).to_be_hidden()
    for title in ("Tip clean, no crack", "New tissue under this specimen", "Hood off, no draught"):
        expect(next_key(page)).to_contain_text(title)
        page.keyboard.press("Enter")
        expect(next_key(page)).not_to_contain_text(title)
    expect(next_key(page)).to_contain_text("Read the tip")


def steady(page: Page, readings: Sequence[str] = READINGS) -> None:
    """Read the tip for the steady minute, ten seconds apart on the page's own clock."""
    page.keyboard.press("8")
    for place, figure in enumerate(readings):
        typed(page, figure)
        expect(page.locator("#typing")).to_have_value("")
        saved(page)
        if place < len(readings) - 1:
            page.clock.run_for(10_000)
    page.keyboard.press("Enter")
    expect(page.locator("#panel")).to_be_hidden()
    page.clock.run_for(1_000)
    expect(page.locator("#heading")).to_have_text("Steady. Press Enter at contact.")
    page.clock.run_for(500)  # the main key turned by itself; a press this soon would be aimed at what it said before


def held(page: Page) -> Page:
    """Hold the page's clock, so that only the test moves it."""
    now = timezone.now()
    page.clock.install(time=now - timedelta(seconds=60))  # it can only be held at a moment it has not passed
    page.clock.pause_at(now)
    return page


def kept(trial: Trial) -> list[tuple[str, str, str]]:
    rows = Observation.objects.filter(trial=trial).exclude(kind="temperature").order_by("pk")
    return [(row.kind, "" if row.t_s is None else format(row.t_s, "f"), row.value) for row in rows]


def start(page: Page, trial: Trial) -> None:
    """Contact, and a flame at 6.4 s."""
    page.clock.run_for(2_000)
    page.keyboard.press("Enter")  # contact
    expect(page).to_have_url(f"{page.url.split('/bench/')[0]}/bench/{trial.pk}/run/")
    page.clock.run_for(6_400)
    page.keyboard.press("1")  # ignites
    expect(page.locator("#heading")).to_contain_text("Something burns or glows. Withdraw in 24 s.")
    saved(page)


def press_without_network(page: Page) -> None:
    """A drip at 12.0 s and a flame height at 15.0 s while nothing can be sent."""
    page.context.set_offline(True)
    page.clock.run_for(2_000)
    page.keyboard.press("2")
    page.keyboard.press("2")  # the bounce of the same press
    page.clock.run_for(3_000)
    page.keyboard.press("4")
    typed(page, "40")
    expect(page.locator("#saving")).to_contain_text("2 not yet saved, kept on this tablet")


def finish(page: Page) -> None:
    """Withdrawal at 30.1 s, flame out 15 s later, watched to the end."""
    page.clock.run_for(7_900)
    expect(page.locator("#heading")).to_contain_text("Withdraw in 4 s.")
    expect(next_key(page)).to_contain_text("Withdrawn")
    page.clock.run_for(4_100)
    page.keyboard.press("Enter")  # withdrawn
    expect(page.locator("#heading")).to_contain_text("60.1 s at the latest")
    page.clock.run_for(15_000)
    page.keyboard.press("Enter")  # flame out
    expect(page.locator("#heading")).to_contain_text("Nothing burns. Watch until 60.1 s, 15 s more.")
    page.clock.run_for(16_000)
    expect(next_key(page)).to_contain_text("Nothing more; end watching")
    page.keyboard.press("Enter")
    expect(next_key(page)).to_contain_text("Look at the verdict and sign")


def test_a_trial_from_the_scan_to_the_signed_verdict(
    opened: Callable[..., Page], bench: Scene, problems: Problems, accessible: Callable[[Page], None]
) -> None:
    page = held(opened(bench.technician))
    page.goto("/bench/")
    accessible(page)
    page.goto(f"/bench/open/{bench.specimens[0].number}/")
    accessible(page)
    trial = open_trial(page, bench)
    accessible(page)
    set_up(page)
    steady(page)
    expect(page.locator("#heading")).to_have_text("Steady. Press Enter at contact.")
    accessible(page)
    assert dict(SetupValue.objects.filter(trial=trial).values_list("key", "value")) == SETUP

    start(page, trial)
    accessible(page)
    page.reload()  # the clock goes on
    page.clock.run_for(3_600)
    expect(page.locator("#clock b")).to_have_text("10.0 s")
    problems.expect("ERR_INTERNET_DISCONNECTED")
    press_without_network(page)
    accessible(page)
    assert kept(trial) == [("contact", "0.0", ""), ("ignites", "6.4", "")]
    page.context.set_offline(False)
    page.clock.run_for(3_100)
    saved(page)
    finish(page)
    assert kept(trial) == [
        ("contact", "0.0", ""),
        ("ignites", "6.4", ""),
        ("drip", "12.0", ""),
        ("flame_height", "15.0", "40"),
        ("withdrawn", "30.1", ""),
        ("flame_out", "45.1", ""),
        ("watch_ends", "61.1", ""),
    ]
    accessible(page)
    page.keyboard.press("Enter")
    page.wait_for_url("**/sign/")
    expect(page.get_by_role("heading", level=1)).to_contain_text(
        "whether anything of the specimen was left is not recorded"
    )
    page.get_by_label("Specimen consumed").select_option("no")
    page.get_by_role("button", name="Save what was found").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "Passed at 850 °C: the flame was out at 45.1 s, and the layer did not catch."
    )
    accessible(page)
    page.get_by_role("button", name="Sign: passed").click()
    page.wait_for_url(f"**/trials/{trial.pk}/")
    assert SignedVerdict.objects.get(trial=trial).outcome == "pass"


def test_a_value_outside_its_limit_is_said_at_once_and_traps_nobody(
    opened: Callable[..., Page], bench: Scene, problems: Problems, accessible: Callable[[Page], None]
) -> None:
    page = held(opened(bench.technician, TABLET))
    open_trial(page, bench)
    page.keyboard.press("1")
    typed(page, "0,75")
    expect(page.locator("#heading")).to_have_text("0.75 N is outside 0.85 to 1.05 N; a trial with it is invalid.")
    page.clock.run_for(1_000)
    page.keyboard.press("1")
    problems.expect("422 (Unprocessable Content)")
    typed(page, "1.234")
    expect(page.locator("#typing-why")).to_contain_text("can be read in two ways")
    expect(page.locator("#typing")).to_have_value("1.234")
    page.keyboard.press("Escape")
    page.keyboard.press("9")
    typed(page, "the gauge sticks")
    expect(page.locator("#heading")).to_have_text("Stopped. Everything recorded is kept.")
    expect(next_key(page)).to_contain_text("Look at the verdict and sign")
    accessible(page)
    page.keyboard.press("Enter")
    page.wait_for_url("**/sign/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Invalid at 850 °C: force 0.75 N is outside")
    page.get_by_role("button", name="Sign: invalid").click()
    page.wait_for_url("**/trials/*/")
    assert SignedVerdict.objects.get().outcome == "invalid"


def test_enter_on_the_empty_box_only_closes_it_and_a_nervous_second_one_starts_nothing(
    opened: Callable[..., Page], bench: Scene
) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    page.keyboard.press("8")
    typed(page, READINGS[0])
    expect(page.locator("#typing")).to_have_value("")
    page.keyboard.press("Enter")  # not steady yet: the box stays, or the next figure would press keys
    expect(page.locator("#typing")).to_be_focused()
    for figure in READINGS[1:]:
        page.clock.run_for(10_000)
        typed(page, figure)
        expect(page.locator("#typing")).to_have_value("")
        saved(page)
    page.clock.run_for(500)
    page.keyboard.press("Enter")
    expect(page.locator("#panel")).to_be_hidden()
    page.clock.run_for(200)
    page.keyboard.press("Enter")  # the nervous one
    expect(next_key(page)).to_contain_text("Contact")
    assert kept(trial) == []
    page.clock.run_for(500)
    page.keyboard.press("Enter")
    expect(page.locator("#log")).to_contain_text("Contact")
    saved(page)
    assert kept(trial) == [("contact", "0.0", "")]


def test_the_key_of_the_readings_shows_no_digit_while_their_box_is_open(
    opened: Callable[..., Page], bench: Scene
) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    digits = next_key(page).locator("kbd")
    expect(digits).to_have_text(["8", "Enter"])
    page.keyboard.press("8")
    typed(page, "849.9")
    saved(page)
    page.clock.run_for(200)
    expect(digits).to_have_text(["Enter"])
    expect(next_key(page)).to_contain_text("the box is open: type the figure, then Enter")
    page.locator("#typing").fill("85")
    page.locator("#typing").blur()
    page.keyboard.press("8")  # leads back into the box, and keeps what stands in it
    expect(page.locator("#typing")).to_be_focused()
    expect(page.locator("#typing")).to_have_value("85")
    page.keyboard.press("Escape")
    page.clock.run_for(200)
    expect(digits).to_have_text(["8", "Enter"])
    assert Observation.objects.filter(trial=trial).count() == 1


def test_all_values_show_what_was_entered_by_its_key_since(opened: Callable[..., Page], bench: Scene) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    page.clock.run_for(500)
    page.keyboard.press("7")
    form = page.locator("#values form")
    expect(form.locator("[name=force_n]")).to_have_value(SETUP["force_n"])
    form.locator("[name=light_lx]").fill("9")
    form.get_by_role("button", name="Save the set-up values").click()
    expect(page.get_by_text("1 set-up value is saved.")).to_be_visible()
    rows = dict(SetupValue.objects.filter(trial=trial).order_by("pk").values_list("key", "value"))
    assert (rows["force_n"], rows["light_lx"]) == (SETUP["force_n"], "9")


def test_a_reading_far_from_the_last_one_is_asked_about_once(opened: Callable[..., Page], bench: Scene) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    page.keyboard.press("8")
    typed(page, "700")
    expect(page.locator("#typing")).to_have_value("")
    typed(page, "850.4")  # 150 K further, on its way to the level: nothing odd
    expect(page.locator("#typing")).to_have_value("")
    typed(page, "805.4")
    expect(page.locator("#typing-why")).to_contain_text(
        "805.4 °C is 45 K away from the last reading, 850.4 °C. Really?"
    )
    expect(page.locator("#typing")).to_have_value("805.4")
    typed(page, "850.9")
    expect(page.locator("#typing")).to_have_value("")
    typed(page, "900")
    expect(page.locator("#typing-why")).to_contain_text("Really?")
    page.keyboard.press("Enter")
    expect(page.locator("#typing")).to_have_value("")
    saved(page)
    rows = Observation.objects.filter(trial=trial, kind="temperature").order_by("pk")
    assert [row.value for row in rows] == ["700", "850.4", "850.9", "900"]


def test_a_tab_hidden_for_five_minutes_still_knows_how_long_it_was(opened: Callable[..., Page], bench: Scene) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    steady(page)
    page.keyboard.press("Enter")
    page.clock.fast_forward(299_000)  # timers of a hidden tab hardly fire; time goes on
    page.clock.run_for(1_100)
    expect(page.locator("#clock b")).to_have_text("300.1 s")
    page.keyboard.press("Enter")
    saved(page)
    assert kept(trial) == [("contact", "0.0", ""), ("withdrawn", "300.1", "")]


def test_something_else_keeps_its_moment_and_is_named_later(opened: Callable[..., Page], bench: Scene) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    steady(page)
    page.keyboard.press("Enter")
    page.clock.run_for(8_000)
    page.keyboard.press("7")
    page.clock.run_for(4_000)
    page.get_by_role("group", name="At 8.0 s: what was it?").get_by_role("button", name="Ignites: corona").click()
    page.clock.run_for(1_000)
    page.keyboard.press("0")  # take the last back
    expect(page.locator("#log")).to_contain_text("to be said")
    saved(page)
    assert kept(trial) == [
        ("contact", "0.0", ""),
        ("note", "8.0", "to be said"),
        ("ignites", "8.0", "corona"),
        ("note", "8.0", "to be said"),
    ]


def test_a_digit_that_names_something_presses_no_key_of_the_page(opened: Callable[..., Page], bench: Scene) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    steady(page)
    page.keyboard.press("Enter")
    page.clock.run_for(8_000)
    page.keyboard.press("7")
    page.clock.run_for(4_000)
    offered = page.get_by_role("group", name="At 8.0 s: what was it?").get_by_role("button")
    expect(offered.first).to_contain_text("Ignites: colourless")
    page.keyboard.press("1")
    page.clock.run_for(1_000)
    saved(page)
    assert kept(trial) == [("contact", "0.0", ""), ("note", "8.0", "to be said"), ("ignites", "8.0", "colourless")]


def test_a_press_aimed_at_the_main_key_as_it_turns_counts_as_what_it_said(
    opened: Callable[..., Page], bench: Scene
) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    steady(page)
    page.keyboard.press("Enter")
    page.clock.run_for(6_000)
    page.keyboard.press("1")  # ignites
    page.clock.run_for(19_200)  # at 25 s Enter begins to mean the withdrawal
    expect(next_key(page)).to_contain_text("Withdrawn")
    page.keyboard.press("Enter")
    expect(page.locator("#log")).to_contain_text("Flame out")
    saved(page)
    assert kept(trial) == [("contact", "0.0", ""), ("ignites", "6.0", ""), ("flame_out", "25.2", "")]


def test_a_clock_that_is_changed_during_the_trial_moves_no_time_and_is_marked(
    opened: Callable[..., Page], bench: Scene
) -> None:
    page = held(opened(bench.technician))
    trial = open_trial(page, bench)
    set_up(page)
    steady(page)
    page.keyboard.press("Enter")
    page.clock.run_for(5_000)
    page.evaluate("() => { const real = Date.now; Date.now = () => real() - 2500; }")
    page.clock.run_for(1_000)
    page.keyboard.press("1")
    expect(page.locator("#saving")).to_contain_text("The tablet’s clock was changed (-2.5 s)")
    expect(page.locator("#saving")).not_to_contain_text("not yet saved")
    row = Observation.objects.get(trial=trial, kind="ignites")
    assert (format(row.t_s or 0, "f"), "clock_step -2.5 s" in row.note) == ("6.0", True)
