"""The mail server as read from the environment."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.mail import mailers as django_mailers
from django.core.mail.backends.smtp import EmailBackend

from labsite.settings.mail import mailers

ROOT = Path(__file__).resolve().parents[3]


def test_without_a_host_there_is_no_mailer():
    assert mailers({}) == {}
    assert mailers({"MAIL_HOST": "", "MAIL_PORT": "25"}) == {}


@pytest.mark.parametrize(
    ("security", "port", "use_tls", "use_ssl"),
    # Ports by their registration: 587 submission (RFC 6409), 465 submissions (RFC 8314), 25 smtp (RFC 5321).
    [("", 587, True, False), ("starttls", 587, True, False), ("tls", 465, False, True), ("none", 25, False, False)],
)
def test_a_host_alone_is_enough(settings, security, port, use_tls, use_ssl):
    settings.MAILERS = mailers({"MAIL_HOST": "mail.lab.example", "MAIL_SECURITY": security, "MAIL_USER": "lab"})
    backend = django_mailers["default"]
    assert isinstance(backend, EmailBackend)
    found = (backend.host, backend.port, backend.username, backend.use_tls, backend.use_ssl, backend.timeout)
    assert found == ("mail.lab.example", port, "lab", use_tls, use_ssl, 10)


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("MAIL_SECURITY", "ssl3", "MAIL_SECURITY is “ssl3”; starttls, tls and none are understood."),
        ("MAIL_PORT", "smtp", "MAIL_PORT is “smtp”; a number from 1 to 65535 is needed."),
        ("MAIL_PORT", "0", "MAIL_PORT is “0”; a number from 1 to 65535 is needed."),
        ("MAIL_PORT", "65536", "MAIL_PORT is “65536”; a number from 1 to 65535 is needed."),
        ("MAIL_PORT", "²", "MAIL_PORT is “²”; a number from 1 to 65535 is needed."),
    ],
)
def test_what_cannot_be_meant_is_said(name, value, words):
    with pytest.raises(ValueError) as refusal:  # noqa: PT011  (the words are compared below)
        mailers({"MAIL_HOST": "mail.lab.example", name: value})
    assert str(refusal.value) == words


def test_production_reads_it():
    code = (
        "from labsite.settings import production as p; "
        "print(p.MAILERS['default']['OPTIONS']['host'], p.DEFAULT_FROM_EMAIL, p.SITE_ADDRESS)"
    )
    wanted = {
        "SECRET_KEY": "x", "ALLOWED_HOSTS": "lab.example,other.example", "MAIL_HOST": "mail.lab.example",
        "MAIL_FROM": "lab@lab.example",
    }  # fmt: skip
    done = subprocess.run(  # noqa: S603  (our own code)
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False, cwd=ROOT,
        env={key: value for key, value in os.environ.items() if key != "SITE_ADDRESS"} | wanted,
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("mail.lab.example lab@lab.example https://lab.example\n", "")
