"""Take the README's pictures anew: the demo in a database of its own, its pages in Chromium, a certificate's page."""

import os
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "fixtures" / "pictures"
PORT = 8765
BASE = f"http://127.0.0.1:{PORT}"
DESK = {
    "counter": ("tilda", "/counter/"),
    "receive": ("tilda", "/orders/{expected}/receive/"),
    "conditioning": ("tilda", "/conditioning/CH-2/"),
    "queue": ("petra", "/queue/"),
    "trial": ("petra", "/trials/1/"),
    "search": ("petra", "/jobs/{search}/"),
    "method": ("petra", "/methods/glow-wire-ignition-temperature@2021/"),
    "calibration": ("hugo", "/instruments/{thermocouple}/"),
    "trace": ("hugo", "/traces/{trace}/"),
}
"""Picture to who looks and at which address."""


def main() -> None:
    """Tell the demo, serve it, look at it."""
    sys.path.insert(0, str(ROOT))
    data = tempfile.mkdtemp(prefix="lab-pictures-")
    os.environ.update(LAB_DATA=data, DJANGO_SETTINGS_MODULE="labsite.settings.dev", DJANGO_ALLOW_ASYNC_UNSAFE="true")
    os.environ.pop("DATABASE_URL", None)
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    call_command("seed_demo")
    command = [sys.executable, "-m", "gunicorn", "labsite.wsgi", "--bind", f"127.0.0.1:{PORT}", "--no-control-socket"]
    server = subprocess.Popen([*command, "--log-level", "error"], cwd=ROOT)
    try:
        wait_for_server()
        FOLDER.mkdir(parents=True, exist_ok=True)
        look()
        certificate_page(Path(data))
    finally:
        server.terminate()
        server.wait()


def wait_for_server() -> None:
    """Until the sign-in page answers; ten seconds at most."""
    for _ in range(50):
        try:
            urllib.request.urlopen(f"{BASE}/sign-in/", timeout=1)
            return
        except (urllib.error.URLError, TimeoutError):
            time.sleep(0.2)
    raise SystemExit("The demo's server did not start.")


def look() -> None:
    """The desk pages, then the bench with a trial under way."""
    from playwright.sync_api import sync_playwright

    from calibration.models import Instrument
    from labsite.demo.people import PASSWORD
    from reports.models import TraceCase
    from specimens.models import OrderLine
    from tests.browser.conftest import DESK as SIZE
    from tests.browser.conftest import LAUNCH

    places = {
        "expected": OrderLine.objects.get(subject="Plug insert, three pins").order.number,
        "search": OrderLine.objects.get(subject="Plates 60 mm x 60 mm, grey").pk,
        "thermocouple": Instrument.objects.get(code="TC-01").number,
        "trace": TraceCase.objects.latest("number").number,
    }
    with sync_playwright() as playwright:
        executable = os.environ.get("CHROMIUM", "/usr/bin/chromium")
        chromium = playwright.chromium.launch(executable_path=executable, args=list(LAUNCH))

        def come_in(name: str) -> object:
            page = chromium.new_page(viewport={"width": SIZE[0], "height": SIZE[1]})
            page.goto(f"{BASE}/sign-in/")
            page.fill("[name=login]", name)
            page.fill("[name=password]", PASSWORD)
            page.click("button.act")
            return page

        for picture, (name, address) in DESK.items():
            page = come_in(name)
            page.goto(BASE + address.format(**places))
            page.wait_for_load_state("networkidle")
            page.screenshot(path=FOLDER / f"{picture}.png")
            page.close()
        at_the_bench(come_in("oren"))
        chromium.close()


def at_the_bench(page: object) -> None:
    """Open the trial that waits in the demo, set it up, bring the wire into contact, see a flame and a drip."""
    from django.utils import timezone

    from labsite.demo.bench import SETUP
    from labsite.demo.setups import plausible_setup
    from labsite.ledger.models import Place
    from specimens.actions.conditioning import take_out
    from specimens.models import Specimen
    from tests.browser.test_bench import held, steady
    from trials.actions.bench import enter_setup_values
    from trials.models import Trial
    from trials.queries.methods import trial_edition

    held(page)
    waiting = Specimen.objects.filter(order_line__subject="Socket base", trials=None).get()
    stay = waiting.stays.get(out_at=None)
    oren, place = waiting.order_line.jobs.get(superseded_at=None).technician, Place.objects.get(code="C-2")
    take_out(by=oren, at=timezone.now(), stay=stay.stay, specimens=[waiting], place=place)
    page.goto(f"{BASE}/bench/open/{waiting.number}/")
    page.get_by_role("button", name="Open the trial").click()
    page.wait_for_url("**/setup/")
    trial = Trial.objects.latest("pk")
    values = plausible_setup(trial_edition(trial), SETUP)
    enter_setup_values(by=trial.opened_by, at=timezone.now(), trial_id=trial.pk, values=values)
    page.reload()
    steady(page, ["750.4", "750.9", "750.2", "751.1", "750.6", "750.8", "750.4"])
    page.screenshot(path=FOLDER / "bench-set-up.png")
    page.clock.run_for(1_000)
    page.keyboard.press("Enter")
    page.wait_for_url("**/run/")
    for pause_ms, key in ((6_400, "1"), (13_300, "2"), (10_400, "Enter"), (8_100, "")):
        page.clock.run_for(pause_ms)
        if key:
            page.keyboard.press(key)
    page.wait_for_timeout(500)
    page.screenshot(path=FOLDER / "bench-run.png")


def certificate_page(folder: Path) -> None:
    """The first page of the amended certificate."""
    from reports.models import Certificate

    certificate = Certificate.objects.exclude(replaces=None).get()
    file = folder / "certificate.pdf"
    file.write_bytes(bytes(certificate.pdf.content))
    subprocess.run(["pdftoppm", "-r", "80", "-l", "1", "-singlefile", "-png", file, FOLDER / "certificate"], check=True)


main()
