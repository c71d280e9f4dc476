"""One parcel from the counter to a downloaded certificate, each step by the person whose step it is, by hand."""

import io
import re
import subprocess
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest
import zxingcpp
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page, expect

from labsite.demo.climate import recorder_file
from labsite.demo.commissioning import commission_rigs
from labsite.demo.equipment import set_up_equipment
from labsite.demo.people import PASSWORD, found_laboratory
from labsite.demo.scenario import authorise
from labsite.ledger.queries import laboratory_zone, ledger_faults
from reports.models import Certificate
from specimens.models import Order, Specimen
from tests.browser.test_bench import held, next_key, saved, set_up, steady
from trials.models import SignedVerdict

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

type Enter = Callable[[str], Page]


@pytest.fixture
def enter(opened: Callable[..., Page]) -> Enter:
    """A laboratory with people and equipment, and for each person a browser in which they sign in by the form."""
    now = timezone.now()
    people = found_laboratory(at=now - timedelta(days=30))
    rigs = set_up_equipment(people, at=now - timedelta(days=30), now=now)
    commission_rigs(people, rigs.values(), at=now - timedelta(days=30) + timedelta(hours=1))
    authorise(people, at=now - timedelta(days=30))
    browsers: dict[str, Page] = {}

    def come_in(name: str) -> Page:
        if name not in browsers:
            page = browsers[name] = opened()
            page.set_default_timeout(8_000)
            page.goto("/")
            page.get_by_label("Short name").fill(name)
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            expect(page.get_by_role("navigation", name="Places")).to_be_visible()
        return browsers[name]

    return come_in


def desk_time(at: datetime) -> str:
    """A moment as it is typed at the counter."""
    return f"{at.astimezone(laboratory_zone()):%Y-%m-%d %H:%M}"


def take_the_order(tilda: Page) -> Order:
    tilda.goto("/clients/new/")
    tilda.locator("[name=name]").fill("Fernglow Sockets Ltd")
    tilda.locator("[name=address]").fill("Copse Lane 9\nFernglow")
    tilda.locator("[name=contact_name]").fill("Una Bracken")
    tilda.get_by_role("button", name="Enter the client").click()
    tilda.wait_for_url(re.compile(r"/clients/\d+/$"))
    tilda.goto("/orders/new/")
    tilda.get_by_label("Client and contact").select_option(label="Fernglow Sockets Ltd: Una Bracken")
    tilda.get_by_label("Purchase-order number").fill("000123")
    tilda.get_by_label("What is to be tested").fill("Socket insert")
    tilda.get_by_label("Method and edition").select_option("glow-wire-end-product@2021")
    tilda.get_by_label("Severity, index or class").select_option("glow-wire-end-product/850")
    tilda.get_by_label("Specimens").fill("1")
    tilda.get_by_label("Decision rule").select_option("in the standard")
    tilda.get_by_role("button", name="Take the order").click()
    tilda.wait_for_url(re.compile(r"/orders/\d+/$"))
    return Order.objects.get()


def sign_the_review(petra: Page, order: Order) -> None:
    petra.goto("/queue/")
    petra.get_by_role("table").get_by_role("link", name="Sign the contract review").click()
    petra.locator("main").get_by_role("link", name="Sign the contract review").first.click()
    petra.wait_for_url("**/review/")
    for tick in petra.get_by_role("checkbox").all():
        tick.check()
    petra.get_by_label("Agreed with").fill("Una Bracken")
    petra.get_by_label("Agreed on").fill(f"{timezone.localdate(timezone=laboratory_zone()):%Y-%m-%d}")
    petra.get_by_role("button", name="Sign the contract review").click()
    petra.wait_for_url(f"**/orders/{order.number}/")


def receive(tilda: Page, order: Order, came_at: datetime) -> Specimen:
    tilda.goto(f"/orders/{order.number}/receive/")
    tilda.get_by_label("Came in").fill(desk_time(came_at))
    tilda.get_by_label("Brought by").fill("Courier")
    tilda.get_by_label("Sound").check()
    tilda.get_by_label("Material").fill("PA66-GF25")
    tilda.get_by_label("Colour").fill("grey")
    tilda.get_by_label("You count").fill("1")
    tilda.get_by_label("Thickness, mm").fill("3,0")
    tilda.get_by_label("As described", exact=True).check()
    tilda.get_by_label("Put on").select_option(label="C-1, Shelf behind the counter, left")
    tilda.get_by_role("button", name="Register the parcel").click()
    tilda.wait_for_url(re.compile(rf"/orders/{order.number}/(\?.*)?$"))
    return Specimen.objects.get()


def label_text_and_code(page: Page, specimen: Specimen, folder: Path) -> tuple[str, str]:
    """The words of the specimen's label and what a scanner reads from it at a label printer's 203 dpi."""
    file = folder / "label.pdf"
    file.write_bytes(page.request.get(f"/orders/{specimen.number[:6]}{order_check(specimen)}/labels.pdf").body())
    words = output_of("pdftotext", "-layout", file, "-").decode()
    pages = words.split("\f")
    place = next(n for n, one in enumerate(pages, start=1) if specimen.number[6:9] in one)
    picture = output_of("pdftoppm", "-r", "203", "-f", str(place), "-l", str(place), "-png", file)
    [code] = zxingcpp.read_barcodes(Image.open(io.BytesIO(picture)))
    return pages[place - 1], code.text


def output_of(*command: str | Path) -> bytes:
    return subprocess.run(command, capture_output=True, check=True).stdout  # noqa: S603  (Poppler’s own tools)


def order_check(specimen: Specimen) -> str:
    return specimen.order_line.order.number[-1]


def condition(tilda: Page, specimen: Specimen, in_at: datetime, tmp_path: Path) -> None:
    tilda.goto(f"/conditioning/stays/new/?line={specimen.order_line_id}")
    tilda.get_by_role("checkbox").check()
    tilda.get_by_label("Chamber", exact=True).select_option(label="CH-1, Conditioning room")
    tilda.get_by_label("Recorder in the chamber").select_option(index=1)
    tilda.get_by_label("They went in at").fill(desk_time(in_at))
    tilda.get_by_role("button", name="Put them in").click()
    tilda.wait_for_url("**/conditioning/CH-1/**")
    record = tmp_path / "recorder.csv"
    record.write_bytes(
        recorder_file(
            seed=1,
            from_at=in_at - timedelta(hours=1),
            until_at=timezone.now() - timedelta(minutes=1),
            zone=laboratory_zone(),
            temperature_c=23.0,
            humidity_percent=55.0,
        )
    )
    tilda.get_by_label("The recorder’s file").set_input_files(record)
    tilda.get_by_role("button", name="Bring the file in").click()
    expect(tilda.get_by_text("utf-8").first).to_be_visible()
    tilda.goto("/conditioning/CH-1/")
    tilda.get_by_role("link", name="Take").first.click()
    tilda.get_by_label("They go to").select_option(label="C-2, Shelf behind the counter, right")
    tilda.get_by_role("button", name="Take").click()
    tilda.wait_for_url(lambda address: not address.endswith("/out/"))


def hand_out(petra: Page) -> None:
    petra.goto("/queue/")
    petra.get_by_role("link", name="Hand out", exact=True).click()
    petra.get_by_label("Technician").select_option(label="Oren Castleby")
    petra.get_by_label("Rig").select_option(label="GW-1, Glow-wire apparatus 1")
    petra.get_by_role("button", name="Hand out line 1").click()
    expect(petra.get_by_role("status")).to_contain_text("Oren Castleby")


def run_the_trial(oren: Page, specimen: Specimen) -> None:
    held(oren)
    oren.goto("/bench/")
    oren.locator("#scan").fill(specimen.number)
    oren.keyboard.press("Enter")
    oren.get_by_role("button", name="Open the trial").click()
    oren.wait_for_url("**/setup/")
    set_up(oren)
    steady(oren)
    oren.clock.run_for(1_000)
    oren.keyboard.press("Enter")  # contact
    oren.wait_for_url("**/run/")
    oren.clock.run_for(6_400)
    oren.keyboard.press("1")  # ignites
    oren.clock.run_for(23_700)
    expect(next_key(oren)).to_contain_text("Withdrawn")
    oren.keyboard.press("Enter")
    oren.clock.run_for(8_500)
    oren.keyboard.press("1")  # flame out
    oren.clock.run_for(23_000)
    saved(oren)
    oren.keyboard.press("Enter")  # watch ends
    saved(oren)
    oren.keyboard.press("Enter")
    oren.wait_for_url("**/sign/")
    oren.get_by_label("Specimen consumed").select_option("no")
    oren.get_by_role("button", name="Save what was found").click()
    oren.get_by_role("button", name="Sign: passed").click()
    oren.wait_for_url("**/trials/**")


def check(mina: Page) -> None:
    mina.goto("/checks/")
    mina.get_by_role("table").get_by_role("link").first.click()
    mina.get_by_label("Sound").check()
    mina.get_by_role("button", name="Sign the check").click()
    expect(mina.get_by_role("status")).to_be_visible()


def issue(petra: Page, order: Order) -> Certificate:
    petra.goto(f"/certificates/issue/{order.number}/")
    petra.get_by_role("button", name="Issue certificate").first.click()
    petra.wait_for_url("**/certificates/*-C1/")
    return Certificate.objects.get()


def test_one_parcel_from_the_counter_to_a_downloaded_certificate(enter: Enter, tmp_path: Path) -> None:
    now = timezone.now()
    order = take_the_order(enter("tilda"))
    sign_the_review(enter("petra"), order)
    specimen = receive(enter("tilda"), order, now - timedelta(days=3))
    words, code = label_text_and_code(enter("tilda"), specimen, tmp_path)
    assert code == specimen.number
    assert f"{specimen.number[:2]}-{specimen.number[2:6]}-{specimen.number[6:9]}" in words
    condition(enter("tilda"), specimen, now - timedelta(days=2), tmp_path)
    hand_out(enter("petra"))
    run_the_trial(enter("oren"), specimen)
    assert [verdict.outcome for verdict in SignedVerdict.objects.all()] == ["pass"]
    check(enter("mina"))
    certificate = issue(enter("petra"), order)

    petra = enter("petra")
    with petra.expect_download() as download:
        petra.get_by_role("link", name="Download").click()
    file = tmp_path / download.value.suggested_filename
    download.value.save_as(file)
    assert file.name == f"{certificate.number}.pdf"
    text = output_of("pdftotext", file, "-").decode()
    for words in (
        "Passed at 850 °C.",
        "Fernglow Sockets Ltd",
        "000123",
        "3.0 mm",
        "Oren Castleby",
        "Mina Radkova-Thorn",
        "Petra Lonsdale-Oakes",
        "38.6 s",
        f"End of certificate {certificate.number}",
    ):
        assert words in text
    assert list(ledger_faults()) == []
