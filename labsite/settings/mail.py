"""The mail server, from the environment."""

from collections.abc import Mapping
from typing import Any

_PORTS = {"starttls": 587, "tls": 465, "none": 25}
TIMEOUT_S = 10
"""A mail is sent while its marks are held in the database, so a silent server must not hold them for long."""


def mailers(environment: Mapping[str, str]) -> dict[str, Any]:
    """Django's MAILERS for MAIL_HOST, MAIL_PORT, MAIL_USER, MAIL_PASSWORD and MAIL_SECURITY; none without a host.

    MAIL_SECURITY is starttls (the default), tls or none. Raises ValueError with a sentence for anything else.
    """
    host = environment.get("MAIL_HOST", "")
    if not host:
        return {}
    security = environment.get("MAIL_SECURITY", "") or "starttls"
    if security not in _PORTS:
        raise ValueError(f"MAIL_SECURITY is “{security}”; starttls, tls and none are understood.")
    port = environment.get("MAIL_PORT", "") or str(_PORTS[security])
    if not (port.isascii() and port.isdigit() and 0 < int(port) < 65536):
        raise ValueError(f"MAIL_PORT is “{port}”; a number from 1 to 65535 is needed.")
    options = {
        "host": host,
        "port": int(port),
        "username": environment.get("MAIL_USER", ""),
        "password": environment.get("MAIL_PASSWORD", ""),
        "use_tls": security == "starttls",
        "use_ssl": security == "tls",
        "timeout": TIMEOUT_S,
    }
    return {"default": {"BACKEND": "django.core.mail.backends.smtp.EmailBackend", "OPTIONS": options}}
