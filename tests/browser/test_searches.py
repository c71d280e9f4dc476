"""Searches as a technician does them, trial after trial in a real browser until the rule calls for nothing more."""

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from labsite.demo.bench import run_trial
from labsite.demo.courses import upright_bar
from labsite.demo.setups import plausible_setup
from labsite.ledger.models import User
from specimens.models import Specimen
from tests.browser.conftest import DESK, Problems
from tests.browser.test_bench_methods import held
from tests.factories.bench import Scene, bench_scene, instrument, stayed
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.models import Observation, SetupValue, SignedVerdict, Trial
from trials.queries.results import line_standing

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

type Presses = Sequence[tuple[str, str]]
"""Seconds from the start, and the digit of the key or "Enter" for the main one; "1=23" types 23 as its value."""


class Bench:
    """A technician with a tablet at one rig, who takes the specimens of a job one after the other.

    `values` are what they type where the rig's last trial offers nothing. Each trial has a browser of its own: a
    clock that was held and moved runs ahead of the server's.
    """

    def __init__(self, opened: Callable[..., Page], scene: Scene, edition: MethodEdition, values: Mapping[str, str]):
        self.opened, self.scene, self.edition = opened, scene, edition
        self.values = plausible_setup(edition, values)
        self.called: list[str] = []
        """The choices taken because the rule calls for them, in order."""

    def come_to(self, specimen: Specimen) -> Page:
        """Scan a specimen at the bench: the page on which its trial is opened."""
        page = held(self.opened(self.scene.technician, DESK))
        page.goto("/bench/")
        page.locator("#scan").fill(specimen.number)
        page.keyboard.press("Enter")
        page.wait_for_url(f"**/bench/open/{specimen.number}/")
        return page

    def open(self, page: Page) -> Trial:
        page.get_by_role("button", name="Open the trial").click()
        page.wait_for_url("**/setup/")
        return Trial.objects.latest("pk")

    def set_up(self, page: Page, trial: Trial) -> list[str]:
        """Press Enter for whatever is asked until the start is offered; returns what was asked, in this order."""
        asked: list[str] = []
        key = page.locator("#keys .next")
        while (spec := key.get_attribute("data-key") or "") not in ("contact", "reading"):
            asked.append(spec.removeprefix("field-"))
            assert len(asked) == len(set(asked)), asked
            page.keyboard.press("Enter")
            if spec != "rig":
                self._answer(page, trial, asked[-1])
            expect(key).not_to_have_attribute("data-key", spec)
        if spec == "reading":
            self._read(page, trial)
        expect(key).to_have_attribute("data-key", "contact")
        expect(key).not_to_contain_text("judged")
        return asked

    def _answer(self, page: Page, trial: Trial, key: str) -> None:
        field = self.edition.fields_by_key[key]
        offered = {"voltage_v": "" if trial.severity is None else format(trial.severity, "f")}
        value = offered.get(key) or self.values[key]
        if field.kind == "choice":
            group = page.get_by_role("group", name=field.title)
            called = group.get_by_role("button").filter(has_text="called for next")
            if called.count():
                self.called.append(called.inner_text().split()[1])
                page.keyboard.press(called.get_attribute("data-digit") or "")
            else:
                page.keyboard.press(str(field.choices.index(value) + 1))
        elif field.kind != "yes-no":
            page.locator("#typing").fill(value.replace(".", ","))
            page.keyboard.press("Enter")

    def _read(self, page: Page, trial: Trial) -> None:
        """Read the tip over the steady minute, ten seconds apart."""
        assert trial.severity is not None
        page.keyboard.press("Enter")
        for place in range(7):
            page.clock.run_for(10_000 if place else 100)
            page.locator("#typing").fill(f"{trial.severity:f}.4")
            page.keyboard.press("Enter")
            expect(page.locator("#typing")).to_have_value("")
            expect(page.locator("#saving")).not_to_contain_text("not yet saved")
        page.keyboard.press("Enter")
        page.clock.run_for(1_500)

    def run(self, page: Page, presses: Presses) -> None:
        """Start, press each key at its moment, and go on to the signature."""
        page.clock.run_for(600)
        page.keyboard.press("Enter")
        expect(page.locator("#log li").last).to_contain_text(self.edition.kinds_by_key["contact"].title)
        before_s = Decimal(0)
        for at_s, press in presses:
            page.clock.fast_forward(int((Decimal(at_s) - before_s) * 1000) - 600)
            page.clock.run_for(600)
            before_s = Decimal(at_s)
            digit, _, value = press.partition("=")
            rows = page.locator("#log li").count()
            page.keyboard.press(digit)
            if value:
                page.locator("#typing").fill(value)
                page.keyboard.press("Enter")
            ended = page.locator("#keys .next").get_attribute("data-key") in ("sign", "wait")
            expect(page.locator("#log li")).to_have_count(rows if ended else rows + 1)
        expect(page.locator("#saving")).not_to_contain_text("not yet saved")
        page.clock.run_for(600)
        expect(page.locator("#keys .next")).to_contain_text("Look at the verdict and sign")
        page.keyboard.press("Enter")
        page.wait_for_url("**/sign/")

    def sign(self, page: Page, findings: Mapping[str, str], word: str) -> None:
        """Say what is looked at afterwards, and sign the verdict that this word names."""
        for label, value in findings.items():
            box = page.get_by_label(label)
            if box.evaluate("node => node.tagName") == "SELECT":
                box.select_option(value)
            else:
                box.fill(value)
        if findings:
            page.get_by_role("button", name="Save what was found").click()
        page.get_by_role("button", name=f"Sign: {word}").click()
        page.wait_for_url("**/trials/*/")

    def job(self) -> Page:
        """The job's page as it stands."""
        page = held(self.opened(self.scene.technician, DESK))
        page.goto(f"/jobs/{self.scene.line.pk}/")
        return page


def kinds(trial: Trial) -> list[str]:
    """What was recorded of a trial, without the readings."""
    rows = Observation.objects.filter(trial=trial).exclude(kind="temperature").order_by("t_s", "pk")
    return [row.kind for row in rows if row.t_s is not None]


def outcomes() -> list[tuple[str, str]]:
    """Each signed trial in the order signed: its level, and the verdict's outcome."""
    rows = SignedVerdict.objects.select_related("trial").order_by("pk")
    return [("" if row.trial.severity is None else format(row.trial.severity, "f"), row.outcome) for row in rows]


def now() -> datetime:
    return timezone.now().replace(microsecond=0)


NO_FLAME: Presses = (("30.0", "Enter"), ("61.0", "Enter"))
FLAME_OF_8_S: Presses = (("12.0", "1"), ("20.0", "1"), ("30.0", "Enter"), ("61.0", "Enter"))
"""Ignition is a flame of more than 5 s: public abstracts of IEC 60695-2-13."""
GWIT_STEPS = (
    ("750", "Next: 3 specimens at 750 °C.", NO_FLAME, "passed"),
    ("750", "Next: 2 specimens at 750 °C.", NO_FLAME, "passed"),
    ("750", "Next: 1 specimen at 750 °C.", NO_FLAME, "passed"),
    ("800", "Next: 3 specimens at 800 °C.", FLAME_OF_8_S, "failed"),
    ("775", "Next: 3 specimens at 775 °C.", FLAME_OF_8_S, "failed"),
)
"""From 750 °C: passed, so 50 K up; ignited, so the level between; ignited again, and the search has its end."""


def test_an_ignition_temperature_is_searched_for_level_by_level(
    opened: Callable[..., Page], problems: Problems
) -> None:
    """The temperature is 25 K above the highest one at which three plates did not ignite: 750 °C gives 775."""
    edition = method_edition("glow-wire-ignition-temperature@2021")
    scene = bench_scene(now(), method=edition.key, severity=None, specimens=6)
    scene.line.start_severity = Decimal(750)
    scene.line.save()
    Specimen.objects.filter(order_line=scene.line).update(thickness_mm="3.0")
    bench = Bench(opened, scene, edition, {"nominal_mm": "3.0", "thickness_mm": "3.02"})
    problems.expect("422 (Unprocessable Content)")
    depart(bench, scene.specimens[5])
    for place, (level, called, presses, word) in enumerate(GWIT_STEPS):
        page = bench.come_to(scene.specimens[place])
        expect(page.get_by_role("heading", level=1)).to_have_text(f"GWIT, {level} °C, on {scene.rig.code}.")
        told = page.locator(".answer h1 + p")
        expect(told).to_contain_text(called)
        assert len(told.inner_text()) > len(called) + 10, "the reason is told"
        trial = bench.open(page)
        asked = bench.set_up(page, trial)
        assert ("rig" in asked) == (place > 0), asked  # from the second trial on the rig's values are taken over
        bench.run(page, presses)
        bench.sign(page, {"Specimen consumed": "no"}, word)
    levels = ["750", "750", "750", "800", "775"]
    assert outcomes()[1:] == list(zip(levels, ["pass"] * 3 + ["fail"] * 2, strict=True))
    page = bench.job()
    expect(page.locator("main")).to_contain_text("GWIT: 775/3.0")
    search = page.get_by_role("region", name="The search so far")
    drawn = "750 °C: 3 of 3 passed; 800 °C: 1 of 1 failed; 775 °C: 1 of 1 failed. Result: GWIT: 775/3.0."
    expect(search.get_by_role("img", name=f"Search by levels. {drawn}")).to_be_visible()
    search.get_by_text("The levels as a table").click()
    levels_told = ["Level", "750 °C Passed 3 of 3 passed", "775 °C Failed 1 failed", "800 °C Failed 1 failed"]
    expect(search.get_by_role("row")).to_have_text([re.compile(rf"^\s*{spaced(one)}") for one in levels_told])


def spaced(words: str) -> str:
    """A pattern for words in several cells."""
    return re.escape(words).replace(r"\ ", r"\s*")


def depart(bench: Bench, specimen: Specimen) -> None:
    """Another level needs its reason, which stays with the trial; here it is stopped before the wire touches."""
    page = bench.come_to(specimen)
    page.get_by_text("Another level", exact=True).click()
    page.get_by_label("Level", exact=True).select_option(label="850 °C")
    page.get_by_role("button", name="Open the trial").click()
    expect(page.locator("main")).to_contain_text(
        "The rule calls for 3 specimens at 750 °C. Write why 850 °C is tested instead."
    )
    page.get_by_label("Why another level").fill("The client wants to see 850 °C first.")
    trial = bench.open(page)
    assert (trial.severity, trial.departure) == (Decimal(850), "The client wants to see 850 °C first.")
    page.keyboard.press("9")
    page.locator("#typing").fill("the client gave it up")
    page.keyboard.press("Enter")
    expect(page.locator("#keys .next")).to_contain_text("Look at the verdict and sign")
    page.clock.run_for(600)
    page.keyboard.press("Enter")
    page.wait_for_url("**/sign/")
    page.get_by_label("Why it cannot be judged").fill("stopped before contact")
    bench.sign(page, {}, "not judged")
    expect(page.locator("main")).to_contain_text("It is not the level called for then. The client wants to see 850 °C")


FIFTY: Presses = (("1470.0", "Enter"), ("1500.0", "Enter"))
HUNDRED: Presses = (("2970.0", "Enter"), ("3000.0", "Enter"))
TRIP_AT_23: Presses = (("668.0", "1=23"), ("680.0", "Enter"))
CTI_STEPS = (
    ("600", "50", "Next: 2 specimens at 600 V.", TRIP_AT_23, "23", "failed"),
    ("575", "50", "Next: 2 specimens at 575 V.", FIFTY, "50", "passed"),
    ("575", "50", "Next: 1 specimen at 575 V.", FIFTY, "50", "passed"),
    ("550", "100", "Next: 2 specimens at 550 V.", HUNDRED, "100", "passed"),
    ("550", "100", "Next: 1 specimen at 550 V.", HUNDRED, "100", "passed"),
)
"""50 drops at 600 V are not survived, at 575 V they are; the longer run of 100 drops follows 25 V lower."""


def test_a_tracking_index_is_searched_for_with_both_runs(opened: Callable[..., Page]) -> None:
    """IEC 60112 asks for five specimens; two are agreed on this order, so that the search is short."""
    edition = method_edition("tracking@2020")
    scene = bench_scene(now(), method=edition.key, severity=None, specimens=5)
    scene.line.start_severity = Decimal(600)
    scene.line.agreed_parameters = {"specimens_needed": {"value": "2"}}
    scene.line.save()
    Specimen.objects.filter(order_line=scene.line).update(thickness_mm="3.0")
    own = {
        "solution": "A",
        "resistivity_ohm_m": "3.95",
        "mass_20_drops_g": "0.430",
        "side_mm": "40",
        "voltage_v": "600",
    }
    bench = Bench(opened, scene, edition, own)
    for place, (level, drops, called, presses, fallen, word) in enumerate(CTI_STEPS):
        page = bench.come_to(scene.specimens[place])
        told = page.locator(".answer h1 + p")
        expect(told).to_contain_text(called)
        expect(told).to_contain_text(f"{level} V")
        trial = bench.open(page)
        weigh(page, place)
        asked = bench.set_up(page, trial)
        assert ("rig" in asked) == (place > 0), asked
        assert SetupValue.objects.filter(trial=trial, key="drops_asked").latest("pk").value == drops
        bench.run(page, presses)
        tripped = word == "failed"
        assert kinds(trial) == ["contact", "trip" if tripped else "withdrawn", "watch_ends"]
        bench.sign(page, {"Drops fallen": fallen, "Hole through the specimen": "no"}, word)
    assert bench.called == ["50", "50", "50", "100", "100"]
    assert outcomes() == [("600", "fail"), ("575", "pass"), ("575", "pass"), ("550", "pass"), ("550", "pass")]
    page = bench.job()
    expect(page.locator(".answer h1 + p")).to_have_text(
        "CTI 575: 50 drops survived at 575 V and 100 drops at 550 V; material group II."
    )


def weigh(page: Page, place: int) -> None:
    """Either mass of drops will do, so neither is asked for by Enter: it is entered among all values."""
    if place:
        return
    page.get_by_text("All set-up values").click()
    page.get_by_label("Mass of 20 drops").fill("0,430")
    page.get_by_role("button", name="Save the set-up values").click()
    page.wait_for_url("**/setup/")


GOOD: Presses = (
    ("2.6", "1"), ("10.0", "Enter"), ("12.1", "1"), ("13.0", "Enter"), ("14.2", "1"), ("23.0", "Enter"), ("26.4", "1"),
    ("31.0", "Enter"),
)  # fmt: skip
BAD: Presses = (
    ("2.6", "1"), ("10.0", "Enter"), ("21.6", "1"), ("22.4", "Enter"), ("23.6", "1"), ("32.4", "Enter"), ("35.3", "1"),
    ("40.0", "Enter"),
)  # fmt: skip
"""One bar burns for 11.6 s after the first application, V-0 allows 10 s: public pages of four suppliers."""


def test_a_second_set_decides_on_the_best_class(opened: Callable[..., Page]) -> None:
    """One bad bar of five calls for a second set, all of which must comply: a page quoting UL 94, clause 8.1.

    The first four bars of each set are run by the same actions without a browser, the last one of each in it.
    """
    edition = method_edition("vertical-flame@2013")
    at = now()
    scene = bench_scene(at, method=edition.key, severity=None, specimens=15, conditioned=10)
    Specimen.objects.filter(order_line=scene.line).update(thickness_mm="1.5")
    specimens = list(Specimen.objects.filter(order_line=scene.line).order_by("number"))
    age_in_the_oven(scene, specimens[10:], at)
    bench = Bench(opened, scene, edition, {"thickness_mm": "1.52", "nominal_mm": "1.5"})
    room, oven, second = specimens[:5], specimens[10:], specimens[5:10]

    four_bars(room, scene.technician)
    last_bar(bench, room[4], "Next: 1 specimen, from the room.", BAD)
    four_bars(oven, scene.technician)
    last_bar(bench, oven[4], "Next: 1 specimen, from the oven.", GOOD)
    page = bench.come_to(second[0])
    expect(page.locator(".answer h1 + p")).to_contain_text(
        "Next: 5 specimens, from the room. A second set decides on V-0"
    )
    four_bars(second, scene.technician)
    last_bar(bench, second[4], "Next: 1 specimen, from the room. A second set decides on V-0", GOOD)

    assert line_standing(scene.line).result.result == "V-0 at 1.5 mm"
    page = bench.job()
    expect(page.locator(".answer h1 + p")).to_have_text(
        "V-0 at 1.5 mm: second set, room: all 5 bars meet V-0, total 25 s; first set, oven: all 5 bars meet V-0, "
        "total 25 s."
    )
    rows = page.get_by_role("region", name="Set by set").get_by_role("row")
    decided = [
        "Set",
        "first set, room Left open V-0: specimen 26-0001-006-8 does not meet V-0 (V-1 at best); a second set decides",
        "second set, room Passed V-0: all 5 bars meet V-0, total 25 s",
        "first set, oven Passed V-0: all 5 bars meet V-0, total 25 s",
    ]
    expect(rows).to_have_text([re.compile(rf"^\s*{spaced(one)}") for one in decided])


def age_in_the_oven(scene: Scene, bars: list[Specimen], at: datetime) -> None:
    """168 h at 70 °C, then four hours in the desiccator until two minutes ago."""
    out_at = at - timedelta(minutes=2)
    for serial, (atmosphere, hours, ends_at, air) in enumerate(
        (("oven 70", 168, out_at - timedelta(hours=5), (70.0, 5.0)), ("desiccator", 5, out_at, (23.0, 10.0)))
    ):
        recorder = instrument(40 + serial, f"HY-4{serial}", "hygrometer", scene.lead, at)
        stayed(scene.line, bars, recorder, scene.lead, atmosphere=atmosphere, hours=hours, out_at=ends_at, air=air)


def four_bars(bars: Sequence[Specimen], technician: User) -> None:
    """The first four bars of a set burn for 2.1 s and 3.4 s."""
    for bar in bars[:4]:
        run_trial(bar, technician, upright_bar(2.1, 3.4), at=now())


def last_bar(bench: Bench, bar: Specimen, called: str, presses: Presses) -> None:
    """The bar that decides on its set."""
    page = bench.come_to(bar)
    expect(page.locator(".answer h1 + p")).to_contain_text(called)
    trial = bench.open(page)
    assert "rig" in bench.set_up(page, trial)
    bench.run(page, presses)
    bench.sign(page, {}, "passed")  # every bar reaches some class
